import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { loanId, unitSerial } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { lookForIdentityTrouble } from "../../server/programme/look-for-identity-trouble.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { openFindingsOf } from "../../server/store/findings.ts";
import { identityQuestionsOfLoan } from "../../server/store/identity.ts";
import { ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { borrower, loan } from "../../server/store/schema/loans.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { cast, type TestServices, testServices, testStart, things } from "../support/cast.ts";
import { recordedUnit } from "../verdicts/recorded-unit.ts";
import { desks } from "./desks.ts";

const { minute, hour } = millisecondsIn;
const day = 24 * hour;
const other = { serial: unitSerial("CU-000602"), loan: loanId("loan_swapped") };
const dayBack = (days: number, hours = 0) => instant(testStart - days * day + hours * hour);
const lentFrom = dayBack(28);
const swappedFrom = dayBack(6);

/** Two sits a day of one body, and from the mix-up on of another, who sits longer. */
function sentUnder(serial: typeof other.serial, own: number, later: number): IncomingMessage[] {
  return Array.from({ length: 27 }, (_, index) => 27 - index).flatMap((back) =>
    [0, 4].flatMap((hours) => {
      const at = dayBack(back, hours);
      const load = at < swappedFrom ? own : later;
      const one = recordedUnit(serial, 2 * (28 - back) + hours / 4, at);
      one.hello(at);
      one.minutes(load > 600 ? 40 : 30, { loadHectograms: load }, instant(at + 41 * minute));
      one.minutes(15, { loaded: false, loadHectograms: 0 }, instant(at + 60 * minute));
      return one.sent;
    }),
  );
}
const units = [
  { serial: things.lentUnit, loan: things.loan, own: 640, later: 480 },
  { serial: other.serial, loan: other.loan, own: 480, later: 640 },
];
let services: TestServices;

beforeEach(() => {
  services = testServices();
  services.db.update(loan).set({ startedAt: lentFrom }).run();
  services.db.update(borrower).set({ clinicianId: cast.clinician.id }).run();
  services.db
    .insert(unit)
    .values({
      serial: other.serial,
      modelId: things.model,
      lotId: things.lot,
      place: "on-loan",
      placeSince: lentFrom,
    })
    .run();
  services.db
    .insert(loan)
    .values({
      id: other.loan,
      reference: "L-0602",
      unitSerial: other.serial,
      borrowerId: things.otherBorrower,
      openedAt: lentFrom,
      startedAt: lentFrom,
    })
    .run();
});
afterEach(() => services.close());

test("swapped homes: both records re-attributed, privacy incident opened, audit intact", async () => {
  const desk = await desks(services);
  for (const { serial, own, later } of units) {
    await services.telemetry.append(sentUnder(serial, own, later));
    await assessUnit(services, serial);
  }
  // Each by itself is a load that has changed, which may be the cushion's: only both together are people changed places.
  expect(openFindingsOf(services.db, other.serial).map(({ kind }) => kind)).toContain("gain-or-weight");
  for (const { serial } of units) {
    await lookForIdentityTrouble(services, serial);
    await reviewUnit(services, serial);
  }
  const asked = units.map(({ loan: id }) => identityQuestionsOfLoan(services.db, id)[0]);
  expect(asked.map((one) => [one?.kind, one?.otherLoanId])).toEqual([
    ["swapped", other.loan],
    ["swapped", things.loan],
  ]);
  const [question] = asked;
  // Today goes on meanwhile.
  const days = (id: typeof other.loan) =>
    ledgerDaysOf(services.db, id)
      .filter(({ day: date }) => date < "2026-05-03")
      .map(({ day, minutes, due }) => ({ day, seated: minutes.seated, due }));
  const before = units.map(({ loan: id }) => days(id));
  const span = { start: lentFrom, end: services.clock.now() };
  const raw = await services.telemetry.read(things.lentUnit, span);

  const page = `/clinic/identity/${question?.id}`;
  const kept = await desk.send("clinician", page, {
    answer: "confirmed",
    reason: "Both read me their labels.",
    record: "other",
    from: "2026-04-27T09:00",
    until: "2026-05-03T09:00",
  });
  expect(kept.status).toBe(303);
  for (const { serial } of units) await reviewUnit(services, serial, { afresh: true });
  const [mine, theirs] = units.map(({ loan: id }) => days(id));
  // A day that each unit recorded whole under the other person stands in the other ledger, to the minute.
  const wholeDays = ["2026-04-28", "2026-04-29", "2026-04-30", "2026-05-01"];
  const seated = (ledger: (typeof before)[number] | undefined) =>
    wholeDays.map((day) => ledger?.find((one) => one.day === day)?.seated);
  expect(seated(mine)).toEqual(seated(before[1]));
  expect(seated(theirs)).toEqual(seated(before[0]));
  expect(seated(mine)).not.toEqual(seated(before[0]));
  expect(await services.telemetry.read(things.lentUnit, span)).toEqual(raw);

  expect(await desk.read("clinician", "/clinic")).toContain("Privacy incidents");
  expect((await desk.send("clinician", `${page}/privacy`, { outcome: " " })).status).toBe(422);
  services.clock.move(hour);
  const outcome = "Both people and the one who answers for privacy were told.";
  expect((await desk.send("clinician", `${page}/privacy`, { outcome })).status).toBe(303);
  expect(await desk.read("clinician", page)).toContain(outcome);
  expect(await desk.read("clinician", "/clinic")).not.toContain("Privacy incidents");

  await desk.send("clinician", `${page}/undo`, {});
  for (const { serial } of units) await reviewUnit(services, serial, { afresh: true });
  expect(units.map(({ loan: id }) => days(id))).toEqual(before);
  const said = services.db
    .select()
    .from(audit)
    .where(eq(audit.subject, `loan:${things.loan}`))
    .all();
  expect(said.map(({ action }) => action)).toEqual([
    "ask-whose-record",
    "open-privacy-incident",
    "answer-whose-record",
    "close-privacy-incident",
    "undo-whose-record",
  ]);
  expect(JSON.stringify(said)).not.toContain("were told");
  expect(firstBrokenAuditRow(services.db)).toBeNull();
});
