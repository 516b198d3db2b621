import { sql } from "drizzle-orm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { type BorrowerId, loanId, type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { incidentRoutes } from "../../server/http/incident-routes.tsx";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { storesWorklist } from "../../server/programme/stores-worklist.ts";
import { watchFleet } from "../../server/programme/watch-fleet.ts";
import { gapsBegun, incidentsSince, unitsOfIncidents } from "../../server/store/incidents.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { signedInAs, type TestServices, testServices, testStart, things } from "../support/cast.ts";
import { recordedUnit } from "../verdicts/recorded-unit.ts";

const minute = 60_000;
const units = ["CU-000501", "CU-000502", "CU-000503", "CU-000504", "CU-000505"].map(unitSerial);
let services: TestServices;

beforeEach(async () => {
  services = testServices();
  for (const [index, serial] of units.entries()) {
    lend(serial, `L-05${index}`, index === 0 ? things.borrower : things.otherBorrower);
  }
});
afterEach(() => services.close());

const ago = (minutes: number): Instant => instant(testStart - minutes * minute);

function lend(serial: UnitSerial, reference: string, borrowerId: BorrowerId): void {
  services.db
    .insert(unit)
    .values({ serial, modelId: things.model, lotId: things.lot, place: "on-loan", placeSince: testStart })
    .run();
  const since = { openedAt: ago(600), startedAt: ago(600) };
  services.db
    .insert(loan)
    .values({ id: loanId(`loan_${serial}`), reference, unitSerial: serial, borrowerId, ...since })
    .run();
}

/** Each recorded until half an hour ago. */
async function allFallSilent() {
  for (const serial of units) {
    const one = recordedUnit(serial, 1, ago(300));
    one.hello(ago(300));
    one.minutes(270, {}, ago(30));
    await services.telemetry.append(one.sent);
  }
}
const review = async () => {
  for (const serial of units) await reviewUnit(services, serial);
  await watchFleet(services);
};
const app = () =>
  createApp(services, [...clinicRoutes(services), ...incidentRoutes(services)], {
    baseUrl: "http://localhost",
  });
const page = async (path: string, who: "clinician" | "coordinator" | "technician") =>
  (await app().request(path, { headers: signedInAs(services, who).headers })).text();

test("units silent together are one incident, and stand on no list by themselves", async () => {
  await allFallSilent();
  await review();
  const [incident, ...others] = incidentsSince(services.db, ago(600));
  expect(others).toEqual([]);
  expect(incident).toMatchObject({ scope: "programme", endsAt: null, foundAt: testStart });
  expect(unitsOfIncidents(services.db, incident ? [incident.id] : [])).toHaveLength(5);
  const clinic = await page("/clinic", "clinician");
  expect(clinic).toContain("5 of 5 units fell silent together across the whole programme");
  expect(clinic).toContain("one of your people among them");
  expect(clinic).not.toContain("No record since");
  expect(storesWorklist(services).filter(({ kind }) => kind === "quiet")).toEqual([]);
});

test("each desk reads of an incident what it may know", async () => {
  await allFallSilent();
  await review();
  const [incident] = incidentsSince(services.db, ago(600));
  const path = `/incidents/${incident?.id}`;
  const clinic = await page(path, "clinician");
  expect(clinic).toMatch(/<th scope="col">Person<\/th>[\s\S]*Person One[\s\S]*4 more units/);
  expect(clinic).toContain("nobody is to be rung about their own record while this goes on");
  const bench = await page(path, "technician");
  expect(bench).toContain("CU-000503");
  expect(bench).not.toContain("Person");
  expect(bench).toContain('<th scope="col">Unit</th>');
  expect(await page(path, "coordinator")).toContain("L-053");
});

test("those on one relay are put down to that relay, as each last told, while its neighbours go on recording", async () => {
  const elsewhere = Array.from({ length: 6 }, (_, index) => unitSerial(`CU-00061${index}`));
  for (const [index, serial] of elsewhere.entries()) lend(serial, `L-061${index}`, things.borrower);
  for (const serial of [...units, ...elsewhere]) {
    const isSilent = units.includes(serial);
    const before = recordedUnit(serial, 1, ago(500));
    before.hello(ago(500));
    before.relay("hub of before", ago(499));
    const one = recordedUnit(serial, 2, ago(300));
    one.hello(ago(300));
    one.relay(isSilent ? "hub-east" : "hub-west", ago(299));
    one.minutes(isSilent ? 270 : 300, {}, ago(isSilent ? 30 : 0));
    // What an earlier boot still had to tell comes last, and takes nothing back.
    await services.telemetry.append(one.sent);
    await services.telemetry.append(before.sent);
  }
  for (const serial of elsewhere) await reviewUnit(services, serial);
  await review();
  const [incident] = incidentsSince(services.db, ago(600));
  expect(incident).toMatchObject({ scope: "relay", scopeName: "hub-east", expected: 5 });
  const bench = await page(`/incidents/${incident?.id}`, "technician");
  expect(bench).toContain("5 of 5 units fell silent together among units on relay hub-east");
  for (const serial of units) expect(bench).toContain(serial);
  expect(bench).not.toContain("CU-000610");
});

test("the fleet's latest gaps are found by their index, however long the history", () => {
  const plan = services.db.all<{ detail: string }>(
    sql`explain query plan ${gapsBegun(services.db, ago(600)).getSQL()}`,
  );
  const steps = plan.map(({ detail }) => detail).join("; ");
  expect(steps).toContain("stretch_begun (kind=? AND starts_at>?)");
  expect(steps).not.toContain("SCAN");
});

test("looking again changes nothing; it ends when four of five are back, and who stays silent is asked about", async () => {
  await allFallSilent();
  await review();
  await watchFleet(services);
  expect(incidentsSince(services.db, ago(600))).toHaveLength(1);
  services.clock.move(120 * minute);
  for (const serial of units.slice(1)) {
    const one = recordedUnit(serial, 2, instant(testStart + 60 * minute));
    one.hello(instant(testStart + 60 * minute));
    one.minutes(55, {}, services.clock.now());
    await services.telemetry.append(one.sent);
  }
  await review();
  const [incident] = incidentsSince(services.db, ago(600));
  expect(incident?.endsAt).toBeGreaterThan(testStart + 59 * minute);
  const clinic = await page("/clinic", "clinician");
  expect(clinic).toContain("It is over");
  expect(clinic).toContain("No record since");
});

test("it is over when they were heard again, and not when somebody next looked", async () => {
  await allFallSilent();
  await review();
  const heardAt = instant(testStart + 65 * minute);
  for (const serial of units) {
    const one = recordedUnit(serial, 2, instant(testStart + 15 * minute));
    one.hello(heardAt);
    one.minutes(50, {}, heardAt);
    one.minutes(650, {}, instant(testStart + 715 * minute));
    await services.telemetry.append(one.sent);
  }
  services.clock.move(12 * 60 * minute);
  await review();
  const [incident] = incidentsSince(services.db, ago(600));
  expect(incident?.endsAt).toBe(heardAt);
  expect(unitsOfIncidents(services.db, incident ? [incident.id] : []).map(({ backAt }) => backAt)).toEqual(
    units.map(() => heardAt),
  );
});
