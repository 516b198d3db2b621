import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { start } from "../simulated-cushions/cast.ts";
import { signedInAs, things } from "../support/cast.ts";
import { type BenchDesk, benchDesk, day, lived } from "./desk.ts";

let desk: BenchDesk;
let html = "";

beforeAll(async () => {
  desk = benchDesk();
  await lived(desk.services, {
    days: 12,
    spec: { faults: [{ kind: "column-open", from: start + 5 * day, column: 6 }] },
  });
  const { headers } = signedInAs(desk.services, "technician");
  const response = await desk.app.request(`/bench/units/${things.lentUnit}`, { headers });
  expect(response.status).toBe(200);
  html = await response.text();
});
afterAll(() => desk.services.close());

const text = () => html.replaceAll(/<[^>]+>/g, " ").replaceAll(/\s+/g, " ");

describe("the pictures of a unit", () => {
  it("say what the battery holds of its rating, and count its cycles by depth", () => {
    expect(text()).toMatch(/It holds \d+ to \d+ % of its rated charge, best guess \d+ %/);
    expect(text()).toMatch(/Charge cycles counted by depth \(rainflow\)/);
  });

  it("show the sums of the empty reading against their limit", () => {
    expect(text()).toMatch(/Neither sum has passed its limit/);
    expect(text()).toMatch(/Trend: −?\d\.\d\d to −?\d\.\d\d % of span a month \(90 %\)/);
  });

  it("lay the dead column over the good days, and let it explain the leans it hides", () => {
    expect(text()).toMatch(/left [\d.]+ [\d.]+ to [\d.]+ [\d.]+ explains the drop by itself/);
  });

  it("need no inline style and draw no number that isn't one", () => {
    expect(html).not.toMatch(/ style="/);
    expect(html).not.toMatch(/NaN|Infinity/);
  });
});
