import { afterEach, beforeEach, expect, it } from "vitest";
import { certificateSerial } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { addCertificate } from "../../server/store/certificates.ts";
import { signedInAs, things } from "../support/cast.ts";
import { addUnit, type BenchDesk, benchDesk, day } from "./desk.ts";

let desk: BenchDesk;
beforeEach(() => {
  desk = benchDesk();
});
afterEach(() => desk.services.close());

it("the technician asks a unit on its page, and sees there that it waits for the unit", async () => {
  const { headers, csrf } = signedInAs(desk.services, "technician");
  const asked = await desk.app.request(`/bench/units/${things.lentUnit}/commands`, {
    method: "POST",
    headers,
    body: new URLSearchParams({ csrf, kind: "self-test" }),
  });
  expect(asked.status).toBe(303);
  const page = await (await desk.app.request(`/bench/units/${things.lentUnit}`, { headers })).text();
  expect(page).toContain("Waiting for the unit, until");
  const forget = await desk.app.request(`/bench/units/${things.lentUnit}/commands`, {
    method: "POST",
    headers,
    body: new URLSearchParams({ csrf, kind: "forget" }),
  });
  expect(forget.status).toBe(409);
  expect(await forget.text()).toContain("A unit is told to forget in a session at the bench, off loan.");
});

it("a batch of certificates that end within a month is one line, and one that ends later is none", async () => {
  const { services, app } = desk;
  const now = services.clock.now();
  for (const [place, ends] of [3, 12, 29, 31].entries()) {
    addCertificate(services.db, {
      serial: certificateSerial(`a${place}`),
      unitSerial: addUnit(services, `CU-00070${place}`),
      loanId: things.loan,
      keyThumbprint: `key ${place}`,
      pem: "not looked at",
      issuedAt: now,
      expiresAt: instant(now + ends * day),
    });
  }
  const { headers } = signedInAs(services, "technician");
  const page = await (await app.request("/bench", { headers })).text();
  expect(page).toContain("3 units’ certificates end between");
  expect(page).not.toContain("CU-000703");
  const unit = async (serial: string) => (await app.request(`/bench/units/${serial}`, { headers })).text();
  expect(await unit("CU-000700")).toContain("must be paired again; what it records");
  expect(await unit("CU-000703")).not.toContain("must be paired again");
});
