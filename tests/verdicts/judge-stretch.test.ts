import { afterEach, beforeEach, expect, test } from "vitest";
import { borrowerId, findingId, loanId, noteId, stretchId, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant, kilograms, millimetres, probability } from "../../server/domain/units.ts";
import type { Stretch } from "../../server/domain/verdicts/verdict.ts";
import { judgeAgain } from "../../server/programme/judge-again.ts";
import { judgeStretch } from "../../server/programme/judge-stretch.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { loanById } from "../../server/store/loans.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { finding, unitAssessment } from "../../server/store/schema/health.ts";
import { borrower, loan, loanNote } from "../../server/store/schema/loans.ts";
import { stretch as stretches } from "../../server/store/schema/verdicts.ts";
import { saveVerdict, verdictHistory } from "../../server/store/verdicts.ts";
import { cast, type TestServices, testServices, testStart, things } from "../support/cast.ts";
import { recordedUnit } from "./recorded-unit.ts";

const hour = 3_600_000;
const ago = (hours: number): Instant => instant(testStart - hours * hour);
const id = stretchId("stretch_test");
let services: TestServices;

beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const listed = (start: Instant, end: Instant | null, filledAt: Instant | null = null): Stretch => {
  services.db
    .insert(stretches)
    .values({
      id,
      loanId: things.loan,
      kind: "gap",
      startsAt: start,
      endsAt: end,
      firstSeenAt: start,
      filledAt,
    })
    .run();
  return { id, loan: things.loan, kind: "gap", start, end, firstSeenAt: start, filledAt };
};
const judge = (stretch: Stretch) => {
  const lent = loanById(services.db, things.loan);
  if (!lent) throw new Error("no loan");
  return judgeStretch(services, { loan: lent, stretch });
};

/** Recorded for two hours, ran flat, silent for eight, came back on the charger. */
async function ranFlat() {
  const first = recordedUnit(things.lentUnit, 1, ago(12));
  first.hello(ago(12));
  first.minutes(110, {}, ago(10));
  first.minutes(10, { cellMillivolts: 3_200 }, ago(10));
  first.cutOff(ago(10));
  const second = recordedUnit(things.lentUnit, 2, ago(2), "brown-out");
  second.hello(ago(2));
  second.minutes(60, { loaded: false, loadHectograms: 0, power: "charging", cellMillivolts: 3_500 }, ago(1));
  await services.telemetry.append([...first.sent, ...second.sent]);
  return listed(ago(10), ago(2));
}

test("a unit that ran flat and came back on its charger is never put on the person, and a faded battery makes it the device", async () => {
  const stretch = await ranFlat();
  const plain = await judge(stretch);
  expect(
    plain.causes
      .slice(0, 2)
      .map(({ cause }) => cause)
      .sort(),
  ).toEqual(["battery-worn", "not-charged"]);
  expect(plain.evidence.map(({ sentence }) => sentence).join(" ")).toContain("reported its cut-off");
  services.db
    .insert(unitAssessment)
    .values({
      unitSerial: things.lentUnit,
      assessedAt: testStart,
      level: "act-soon",
      reason: "",
      nextStep: "",
    })
    .run();
  services.db
    .insert(finding)
    .values({
      id: findingId("f"),
      unitSerial: things.lentUnit,
      kind: "capacity-fade",
      place: "",
      level: "act-soon",
      probability: 900_000,
      sentence: "",
      mistakenFor: "",
      settledBy: "",
      since: ago(100),
      lastSeenAt: testStart,
    })
    .run();
  const faded = await judge(stretch);
  expect(faded.leadingSide).toBe("device");
  expect(faded.sides.person).toBeLessThan(plain.sides.person);
});

test("messages owed by a unit that kept numbering put the gap on the link; once they are in, nothing is missing", async () => {
  const lent = recordedUnit(things.lentUnit, 1, ago(12));
  lent.hello(ago(12));
  lent.minutes(120, {}, ago(10));
  lent.minutes(300, {}, null);
  lent.minutes(120, {}, ago(3));
  await services.telemetry.append(lent.sent);
  const owed = await judge(listed(ago(10), ago(5)));
  expect(owed.outcome).toBe("link");
  expect(owed.evidence[0]?.sentence).toContain("still owes us");
  const late = await judge({
    id,
    loan: things.loan,
    kind: "gap",
    start: ago(10),
    end: ago(5),
    firstSeenAt: ago(9),
    filledAt: ago(1),
  });
  expect(late.outcome).toBe("link");
  expect(late.sentence).toContain("nothing is missing");
  expect(late.settle).toEqual([]);
});

test("a unit that goes silent together with most others is the programme's own trouble", async () => {
  for (let other = 0; other < 6; other += 1) addOtherLoan(other);
  const units = [things.lentUnit, ...[0, 1, 2, 3, 4, 5].map((other) => unitSerial(`CU-0002${other}0`))];
  for (const serial of units) {
    const one = recordedUnit(serial, 1, ago(4));
    one.hello(ago(4));
    one.minutes(120, {}, ago(2));
    await services.telemetry.append(one.sent);
  }
  const verdict = await judge(listed(ago(2), null));
  expect(verdict.outcome).toBe("link");
  expect(verdict.causes[0]?.cause).toBe("programme-link");
  expect(verdict.evidence[0]?.sentence).toBe(
    "6 of the 6 other units on loan fell silent within the same minutes.",
  );
});

function addOtherLoan(other: number): void {
  const serial = unitSerial(`CU-0002${other}0`);
  const person = borrowerId(`borrower_other_${other}`);
  const at = ago(500);
  services.db
    .insert(unit)
    .values({ serial, modelId: things.model, lotId: things.lot, place: "on-loan", placeSince: at })
    .run();
  services.db
    .insert(borrower)
    .values({
      id: person,
      name: `Other ${other}`,
      area: "South",
      address: "",
      phone: "",
      weight: kilograms(70),
      seatWidth: millimetres(400),
      seatDepth: millimetres(400),
      clinicianId: cast.clinician.id,
      createdAt: at,
    })
    .run();
  services.db
    .insert(loan)
    .values({
      id: loanId(`loan_other_${other}`),
      reference: `L-1${other}`,
      unitSerial: serial,
      borrowerId: person,
      openedAt: at,
      startedAt: at,
    })
    .run();
}

test("a hospital note written later changes the verdict, and the earlier one stays with the time it was held", async () => {
  const stretch = await ranFlat();
  const lent = loanById(services.db, things.loan);
  if (!lent) throw new Error("no loan");
  await judgeAgain(services, lent, { start: stretch.start, end: testStart });
  services.clock.move(hour);
  services.db
    .insert(loanNote)
    .values({
      id: noteId("n"),
      loanId: things.loan,
      kind: "hospital",
      fromAt: ago(14),
      untilAt: ago(3),
      text: "",
      writtenBy: cast.clinician.id,
      writtenAt: testStart,
    })
    .run();
  expect(await judgeAgain(services, lent, { start: stretch.start, end: testStart })).toBe(1);
  const history = verdictHistory(services.db, id);
  expect(history).toHaveLength(2);
  expect(history[0]?.supersededAt).toBeNull();
  expect(history[1]?.supersededAt).toBe(history[0]?.computedAt);
  const away = (held: (typeof history)[number] | undefined) =>
    held?.verdict.causes.find(({ cause }) => cause === "away")?.probability ?? 0;
  expect(away(history[0])).toBeGreaterThan(away(history[1]));
  expect(await judgeAgain(services, lent, { start: stretch.start, end: testStart })).toBe(0);
});

test("a verdict that says nothing new is not saved again", async () => {
  const verdict = await judge(await ranFlat());
  const save = (changed: Partial<typeof verdict>, ongoing = false) =>
    saveVerdict(services, services.db, {
      stretch: id,
      ongoing,
      verdict: { ...verdict, ...changed },
      at: services.clock.now(),
    });
  expect(save({})).toBe(true);
  expect(save({ probability: probability(verdict.probability - 0.004) })).toBe(false);
  expect(save({ span: { ...verdict.span, end: ago(1) } }, true)).toBe(false);
  expect(save({ span: { ...verdict.span, end: ago(1) } })).toBe(true);
  expect(save({ outcome: verdict.outcome === "device" ? "link" : "device" })).toBe(true);
});

test("it doesn't matter which unit is worked through first: the gaps found earlier learn of the later ones", async () => {
  const reviewed = [{ serial: things.lentUnit, loan: things.loan }];
  for (let other = 0; other < 6; other += 1) {
    addOtherLoan(other);
    reviewed.push({ serial: unitSerial(`CU-0002${other}0`), loan: loanId(`loan_other_${other}`) });
  }
  services.db
    .update(loan)
    .set({ startedAt: ago(8) })
    .run();
  for (const { serial } of reviewed) {
    const one = recordedUnit(serial, 1, ago(8));
    one.hello(ago(8));
    one.minutes(180, {}, ago(5));
    one.minutes(120, {}, null);
    one.minutes(170, {}, ago(0));
    await services.telemetry.append(one.sent);
  }
  for (const { serial } of reviewed) await reviewUnit(services, serial);
  const gaps = services.db
    .select()
    .from(stretches)
    .all()
    .filter(({ kind }) => kind === "gap");
  expect(gaps.map(({ loanId: of }) => of).sort()).toEqual(reviewed.map(({ loan: of }) => of).sort());
  for (const gap of gaps) {
    const [current] = verdictHistory(services.db, gap.id);
    expect(current?.verdict.outcome).toBe("link");
    expect(current?.verdict.causes[0]?.cause).toMatch(/programme-link|area-outage/);
  }
});
