import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { mayDo } from "../../server/domain/access/roles.ts";
import { benchRoutes } from "../../server/http/bench-routes.tsx";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { openFindingsOf } from "../../server/store/findings.ts";
import { unitBySerial } from "../../server/store/units.ts";
import { start } from "../simulated-cushions/cast.ts";
import { cast, signedInAs, things } from "../support/cast.ts";
import { addUnit, type BenchDesk, benchDesk, day, lived } from "./desk.ts";

const unit = things.lentUnit;
let desk: BenchDesk;

beforeAll(async () => {
  desk = benchDesk();
  const { services } = desk;
  const faults = [{ kind: "column-open", from: start + 4 * day, column: 6 }] as const;
  await lived(services, { days: 12, spec: { faults } });
  const hot = addUnit(services, "CU-000201");
  await lived(services, { serial: hot, days: 12, fault: "cell-hot", seed: "hot" });
  await services.telemetry.append([
    {
      unit,
      topic: `cushion/1/${unit}/up/minutes`,
      receivedAt: services.clock.now(),
      payload: new Uint8Array([255]),
    },
  ]);
  for (const serial of [unit, hot, things.stockUnit]) await assessUnit(services, serial);
});
afterAll(() => desk.services.close());

async function page(path: string): Promise<string> {
  const { headers } = signedInAs(desk.services, "technician");
  const response = await desk.app.request(path, { headers });
  expect(response.status).toBe(200);
  return response.text();
}

const textOf = (html: string): string => html.replaceAll(/<[^>]+>/g, " ").replaceAll(/\s+/g, " ");

describe("the technician's worklist", () => {
  it("puts the hazard first with the safe words, then the dead column with how sure, since when and the next step", async () => {
    const text = textOf(await page("/bench"));
    expect(text.indexOf("CU-000201")).toBeLessThan(text.indexOf("Column 7 of 10"));
    expect(text).toMatch(/Stop charging, do not press or open it/);
    expect(text).toMatch(/CU-000101 , on loan: Column 7 of 10, right side, has not answered/);
    expect(text).toMatch(
      /left leans: reliefs that are done may not be in the record\. Almost certainly \(99 %\)/,
    );
    expect(text).toMatch(/Since \d+ May 2026, \d\d:\d\d \(\d+ days ago\)\. What settles it: A line sweep/);
    expect(text).toMatch(/Test its grid/);
    expect(text).not.toMatch(/CU-000102/);
  });

  it("tells of what was kept aside, with the reason", async () => {
    expect(textOf(await page("/bench"))).toMatch(/1 message from 1 unit could not be read and is kept/);
    expect(textOf(await page("/bench/kept-aside"))).toMatch(/CU-000101 1 \S/);
  });
});

describe("a unit's page", () => {
  it("tells its story first, then draws it, each picture with a name, a description and a table", async () => {
    const html = await page(`/bench/units/${unit}`);
    expect(html.indexOf("Battery: between")).toBeLessThan(html.indexOf("<svg"));
    const pictures = html.match(/<svg class="chart[\s\S]*?<\/svg>/g) ?? [];
    expect(pictures).toHaveLength(7);
    for (const picture of pictures)
      expect(picture).toMatch(/<title id=[^>]*>[^<]+<\/title><desc id=[^>]*>[^<]+/);
    for (const table of ["Seat map", "Battery", "Empty reading", "Link"]) {
      expect(html).toContain(`<summary>${table} as a table</summary>`);
    }
    expect(html).not.toMatch(/ style="/);
    expect(html).toContain("FRONT OF THE SEAT");
    expect(textOf(html)).toMatch(/left \d\.\d \d\.\d to \d\.\d ⚠ blind/);
    expect(textOf(html)).toMatch(/right \d+\.\d \d+\.\d to \d+\.\d ✓ seen/);
  });

  it("draws the person's left on the right: one looks at the seat from the front", async () => {
    const html = await page(`/bench/units/${unit}`);
    const places = [...html.matchAll(/<rect class="cell" x="([\d.]+)"[\s\S]*?<title>Row 1, column (\d+):/g)];
    const across = new Map(places.map(([, x, column]) => [Number(column), Number(x)]));
    expect(across.get(1)).toBeGreaterThan(across.get(10) ?? 1_000);
  });

  it("names nobody: not the borrower, their address, clinician nor reliefs", async () => {
    for (const path of ["/bench", "/bench/units", `/bench/units/${unit}`, "/bench/kept-aside"]) {
      const html = await page(path);
      for (const secret of ["Person One", "Person Two", "Invented Row", cast.clinician.name, things.borrower])
        expect(html).not.toContain(secret);
    }
    expect(textOf(await page(`/bench/units/${unit}`))).toMatch(/L-0001: from/);
  });

  it("is there for a unit without any record, and says what is missing", async () => {
    const text = textOf(await page(`/bench/units/${things.stockUnit}`));
    expect(text).toMatch(/Nobody has looked at it yet: no record of it has come in/);
    expect(text).toMatch(/No minute is on record yet/);
    expect(text).toMatch(/the seat must be seen empty three times and sat on once/);
  });

  it("takes a judgement in one press and keeps it", async () => {
    const { services, app } = desk;
    const id = openFindingsOf(services.db, unit)[0]?.id;
    const technician = signedInAs(services, "technician");
    const said = await app.request(`/bench/findings/${id}`, technician.post({ judgement: "confirmed" }));
    expect(said.status).toBe(303);
    expect(said.headers.get("location")).toBe(`/bench/units/${unit}?told=confirmed#findings`);
    expect(textOf(await page("/bench"))).toMatch(/Confirmed by Tomasz Reed/);
    const wrong = await app.request(`/bench/findings/${id}`, technician.post({ judgement: "perhaps" }));
    expect(wrong.status).toBe(409);
    const unknown = await app.request("/bench/findings/none", technician.post({ judgement: "refuted" }));
    expect(unknown.status).toBe(404);
  });

  it("moves a unit on the bench, and refuses what the rules forbid with their words", async () => {
    const { services, app } = desk;
    const technician = signedInAs(services, "technician");
    const bench = addUnit(services, "CU-000301");
    const move = (serial: string, from: string, to: string) =>
      app.request(`/bench/units/${serial}/move`, technician.post({ from, to }));
    expect((await move(bench, "on-the-bench", "cleaning")).status).toBe(303);
    expect(unitBySerial(services.db, bench)?.place).toBe("cleaning");
    const refused = await move(unit, "on-loan", "in-stock");
    expect(refused.status).toBe(409);
    expect(await refused.text()).toContain("A unit leaves a loan by ending the loan");
  });
});

describe("the list of units", () => {
  it("is worst first, and can be narrowed by condition, place and words", async () => {
    const all = textOf(await page("/bench/units"));
    expect(all.indexOf("CU-000201")).toBeLessThan(all.indexOf("CU-000101"));
    expect(all.indexOf("CU-000101")).toBeLessThan(all.indexOf("CU-000102"));
    expect(textOf(await page("/bench/units?level=act-now"))).toMatch(/1 unit, worst first .* CU-000201/);
    expect(textOf(await page("/bench/units?place=on-loan"))).toMatch(/1 unit, worst first .* CU-000101/);
    expect(textOf(await page("/bench/units?text=nothing+like+it&page=zero"))).toMatch(/No unit matches/);
  });
});

describe("who may use the bench", () => {
  it.each(["coordinator", "clinician", "administrator"] as const)("not a %s", async (who) => {
    const { services, app } = desk;
    const reader = signedInAs(services, who);
    for (const route of benchRoutes(services)) {
      if (route.needs === "public") throw new Error("no page of the bench is public");
      const path = route.path.replace(":serial", unit).replace(":id", "x");
      const init = route.method === "GET" ? { headers: reader.headers } : reader.post();
      const { status } = await app.request(path, init);
      expect(mayDo(cast[who].role, route.needs)).toBe(false);
      expect(`${route.method} ${path} ${status}`).toBe(`${route.method} ${path} 403`);
    }
  });
});
