import { eq } from "drizzle-orm";
import fc from "fast-check";
import { afterEach, describe, expect, it } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { type DayDigest, digestOf } from "../../server/domain/verdicts/day-digest.ts";
import { withinLoan } from "../../server/programme/loan-days.ts";
import { loanRecord } from "../../server/programme/loan-record.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { insertLoan, loanById } from "../../server/store/loans.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { changeSetting } from "../../server/store/settings.ts";
import { stretchesOf } from "../../server/store/stretches.ts";
import { currentVerdict, verdictHistory } from "../../server/store/verdicts.ts";
import { cast, type TestServices, things } from "../support/cast.ts";
import {
  append,
  diary,
  findings,
  hour,
  live,
  minute,
  type Spell,
  servicesFrom,
  silentJudge,
  unit,
} from "./diary.ts";

/** Midnight in London, 23 March 2026: six days before the clocks go forward. */
const midnight = instant(Date.UTC(2026, 2, 23));
const at = (hours: number): Instant => instant(midnight + hours * hour);
const since = (instants: readonly (Instant | null)[]) =>
  instants.map((when) => (when === null ? null : (when - midnight) / hour));

const opened: TestServices[] = [];
const startAt = (start: Instant): TestServices => {
  const services = servicesFrom(start);
  opened.push(services);
  return services;
};
afterEach(() => {
  for (const services of opened.splice(0)) services.close();
});

const gapsOf = (services: TestServices, id = things.loan) =>
  stretchesOf(services.db, id).filter(({ kind }) => kind === "gap");

/** Each day's habit sums from a reading of that day alone. */
const digestsReadAgain = async (services: TestServices) => {
  const lent = loanById(services.db, things.loan);
  if (!lent) throw new Error("no loan");
  const digests: DayDigest[] = [];
  for (const { startsAt, endsAt } of findings(services).habits) {
    const span = withinLoan(lent, startsAt, endsAt);
    digests.push(digestOf((await loanRecord(services, lent, span)).record));
  }
  return digests;
};

/** Seated all day on the hour's half, resting at night. */
const ordinaryDay: readonly Spell[] = [
  { state: "on-charge", minutes: 8 * 60 },
  ...Array.from({ length: 14 }, (): Spell[] => [
    { state: "seated", minutes: 45, reliefs: [25] },
    { state: "off", minutes: 15 },
  ]).flat(),
  { state: "off", minutes: 2 * 60 },
];

describe("a review", () => {
  it("of the whole record gives to the last digit what reviews along the way gave", async () => {
    const spell = fc.record({
      state: fc.constantFrom<Spell["state"]>("seated", "seated", "off", "on-charge", "silent"),
      minutes: fc.oneof(fc.integer({ min: 3, max: 60 }), fc.integer({ min: 60, max: 600 })),
      reliefs: fc
        .array(fc.integer({ min: 0, max: 120 }), { maxLength: 4 })
        .map((list) => list.sort((a, b) => a - b)),
      wet: fc.oneof(
        { weight: 9, arbitrary: fc.constant(false) },
        { weight: 1, arbitrary: fc.constant(true) },
      ),
      late: fc.oneof(
        { weight: 6, arbitrary: fc.constant(0) },
        { weight: 2, arbitrary: fc.integer({ min: 1, max: 60 }) },
        { weight: 1, arbitrary: fc.constant(null) },
      ),
      lost: fc.oneof(
        { weight: 8, arbitrary: fc.constant(false) },
        { weight: 1, arbitrary: fc.constant(true) },
      ),
    });
    await fc.assert(
      fc.asyncProperty(
        fc.array(spell, { minLength: 10, maxLength: 40 }),
        fc.array(fc.integer({ min: 7, max: 12 * 60 }), { minLength: 6, maxLength: 25 }),
        fc.constantFrom(0, 130, 150),
        async (spells, pauses, startHour) => {
          const start = at(startHour);
          const deliveries = diary(start, spells);
          let now: number = start;
          const moments = pauses.map((pause) => {
            now += pause * minute;
            return instant(now);
          });
          const along = servicesFrom(start);
          const scratch = servicesFrom(start);
          try {
            await live(along, deliveries, moments);
            await live(scratch, deliveries, moments.slice(-1));
            expect(findings(along)).toEqual(findings(scratch));
            const { habits } = findings(scratch);
            expect(habits.map(({ digest }) => digest)).toEqual(await digestsReadAgain(scratch));
          } finally {
            along.close();
            scratch.close();
          }
        },
      ),
      { numRuns: 15, endOnFailure: true },
    );
  });

  it("ends a gap that late data filled when the unit was heard again, not when somebody next looks", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 120 },
      { state: "off", minutes: 180, late: 4 },
      { state: "seated", minutes: 600 },
    ]);
    const isEarly = ({ at: arrives }: { at: Instant }) => arrives <= at(2);
    await live(services, deliveries.filter(isEarly), [at(3)]);
    expect(since(gapsOf(services).map(({ end }) => end))).toEqual([null]);
    const rest = deliveries.filter((delivery) => !isEarly(delivery));
    await live(services, rest, [at(14)]);
    const [filled] = gapsOf(services);
    const first = Math.min(...rest.map((delivery) => delivery.at));
    expect(filled?.end).toBe(first);
    expect(filled?.filledAt).toBe(at(14));
  });

  it("keeps a gap that was found and filled in the same instant, with what was said of it before and after", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 120 },
      { state: "off", minutes: 60 },
    ]);
    const isEarly = ({ at: arrives }: { at: Instant }) => arrives <= at(2);
    await live(services, deliveries.filter(isEarly), [at(3)]);
    await append(
      services,
      deliveries.filter((delivery) => !isEarly(delivery)),
    );
    await reviewUnit(services, unit);
    const [gap, ...more] = gapsOf(services);
    expect(more).toEqual([]);
    expect(since([gap?.start ?? null, gap?.firstSeenAt ?? null, gap?.filledAt ?? null])).toEqual([2, 3, 3]);
    if (!gap) return;
    expect(gap.end).toBeGreaterThan(gap.start);
    const history = verdictHistory(services.db, gap.id);
    expect(history.map(({ verdict }) => verdict.outcome)).toContain("link");
    expect(currentVerdict(services.db, gap.id)?.verdict.sentence).toContain("nothing is missing");
  });

  it("touches only the day that the last hour belongs to", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), Array.from({ length: 5 }, () => ordinaryDay).flat());
    await live(services, deliveries, [at(100), at(101)]);
    const rows = services.db
      .select()
      .from(ledgerDay)
      .where(eq(ledgerDay.reviewedAt, at(101)))
      .all();
    expect(rows.map(({ day }) => day)).toEqual(["2026-03-27"]);
    expect(ledgerDaysOf(services.db, things.loan)).toHaveLength(5);
  });

  it("opens a gap when time passes and nothing comes, keeps it as it grows, and closes it when the record goes on", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 120 },
      { state: "silent", minutes: 40 * 60 },
      { state: "seated", minutes: 240 },
    ]);
    const { judge, asked } = silentJudge();
    await live(services, deliveries, [at(2.2)], judge);
    expect(gapsOf(services)).toEqual([]);
    await live(services, [], [at(2.5)], judge);
    const [first] = gapsOf(services);
    expect(since([first?.start ?? null, first?.end ?? null])).toEqual([2, null]);
    await live(services, [], [at(30)], judge);
    await live(
      services,
      deliveries.filter((delivery) => delivery.at > at(40)),
      [at(44)],
      judge,
    );
    const gaps = gapsOf(services);
    expect(gaps.map(({ id }) => id)).toEqual([first?.id]);
    expect(since([gaps[0]?.start ?? null, gaps[0]?.end ?? null])).toEqual([2, 42]);
    expect(asked.filter(({ kind }) => kind === "gap").map(({ end }) => end === null)).toEqual([
      true,
      true,
      false,
    ]);
    expect(first && currentVerdict(services.db, first.id)?.verdict.span).toEqual({
      start: at(2),
      end: at(42),
    });
  });

  it("lets late data fill a gap, which stays listed with the moment it was filled", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 120 },
      { state: "off", minutes: 600, late: 20 },
      { state: "seated", minutes: 60 },
    ]);
    await live(services, deliveries, [at(13)]);
    const [gap] = gapsOf(services);
    expect(since([gap?.start ?? null, gap?.end ?? null])).toEqual([2, 12]);
    expect(ledgerDaysOf(services.db, things.loan)[0]?.minutes.awaiting).toBe(600);
    await live(
      services,
      deliveries.filter((delivery) => delivery.at > at(13)),
      [at(36)],
    );
    const filled = gapsOf(services).find(({ id }) => id === gap?.id);
    expect(filled?.filledAt).toBe(at(36));
    expect(ledgerDaysOf(services.db, things.loan)[0]?.minutes).toMatchObject({ off: 600, awaiting: 0 });
    expect(filled && currentVerdict(services.db, filled.id)).not.toBeNull();
  });

  it("stops waiting for what the unit later says it has lost, on a day it would not otherwise look at", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 120 },
      { state: "off", minutes: 300, lost: true },
      { state: "off", minutes: 40 * 60, keepsQuiet: true },
      { state: "off", minutes: 40 * 60 },
    ]);
    await live(services, deliveries, [at(34), at(60)]);
    expect(ledgerDaysOf(services.db, things.loan)[0]?.minutes).toMatchObject({
      awaiting: 300,
      "no-record": 0,
    });
    await live(
      services,
      deliveries.filter((delivery) => delivery.at > at(60)),
      [at(80)],
    );
    expect(ledgerDaysOf(services.db, things.loan)[0]?.minutes).toMatchObject({
      awaiting: 0,
      "no-record": 300,
    });
    expect(gapsOf(services).map(({ start, end }) => since([start, end]))).toEqual([[2, 7]]);
  });

  it("lets the longest part keep a gap's identity when late data split it", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 60 },
      { state: "off", minutes: 120, late: null },
      { state: "off", minutes: 60, late: 20 },
      { state: "off", minutes: 300, late: null },
      { state: "seated", minutes: 60 },
    ]);
    await live(services, deliveries, [at(10)]);
    const [whole] = gapsOf(services);
    await live(
      services,
      deliveries.filter((delivery) => delivery.at > at(10)),
      [at(30)],
    );
    const parts = gapsOf(services).filter(({ end }) => end !== null);
    expect(parts.map(({ start, end }) => since([start, end]))).toEqual([
      [1, 3],
      [4, 9],
    ]);
    expect(parts[1]?.id).toBe(whole?.id);
  });

  it("gives an old borrower's late upload to the old loan, never to the next borrower's", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 600, late: 60 },
      { state: "off", minutes: 24 * 60, late: 60 },
      { state: "seated", minutes: 12 * 60, late: 60 },
    ]);
    const next = loanId("loan_next");
    services.db
      .update(loan)
      .set({ endedAt: at(20) })
      .where(eq(loan.id, things.loan))
      .run();
    insertLoan(services.db, {
      id: next,
      reference: "L-0002",
      unitSerial: unit,
      borrowerId: things.otherBorrower,
      openedAt: at(30),
      startedAt: at(40),
      dueBackOn: null,
      endedAt: null,
      endReason: null,
      followsLoanId: null,
    });
    await live(services, deliveries, [at(60), at(107)]);
    const total = (id: typeof next, state: "seated" | "off") =>
      ledgerDaysOf(services.db, id).reduce((sum, day) => sum + day.minutes[state], 0);
    expect(total(things.loan, "seated")).toBe(600);
    expect(total(things.loan, "off")).toBe(600);
    // From 40 h on the unit was the next borrower's: 6 h of the last spell.
    expect(total(next, "seated")).toBe(6 * 60);
    expect(total(next, "off")).toBe(0);
    expect(gapsOf(services, next).every(({ start }) => start >= at(40))).toBe(true);
    expect(gapsOf(services).every(({ filledAt }) => filledAt !== null)).toBe(true);
  });

  it("keeps the ledger and goes on when a stretch can't be judged, and tries it again", async () => {
    const services = startAt(at(0));
    const deliveries = diary(at(0), [
      { state: "seated", minutes: 60 },
      { state: "silent", minutes: 60 },
      { state: "seated", minutes: 60 },
    ]);
    await live(services, deliveries, [at(3)], async () => {
      throw new Error("no");
    });
    const [gap] = gapsOf(services);
    expect(gap && currentVerdict(services.db, gap.id)).toBeNull();
    expect(await services.telemetry.unreviewed()).toEqual([]);
    services.clock.set(at(3.1));
    await reviewUnit(services, unit, silentJudge());
    expect(gap && currentVerdict(services.db, gap.id)).not.toBeNull();
  });

  it("works through everything again when asked to, as after a changed setting", async () => {
    const services = startAt(at(0));
    const short: Spell[] = [
      { state: "seated", minutes: 60 },
      { state: "silent", minutes: 15 },
    ];
    await live(services, diary(at(0), [...short, ...ordinaryDay, ...ordinaryDay]), [at(49)]);
    expect(gapsOf(services)).toEqual([]);
    const change = { name: "shortestGapMinutes", value: 10, at: at(49), by: cast.administrator.id } as const;
    changeSetting(services.db, change);
    await reviewUnit(services, unit, { ...silentJudge(), afresh: true });
    expect(gapsOf(services).map(({ start, end }) => since([start, end]))).toEqual([[1, 1.25]]);
  });

  it("goes on from its mark, and tells the pages that show the loan, the person and the gap", async () => {
    const services = startAt(at(0));
    const heard: string[] = [];
    services.live.follow(["clinic", `loan:${things.loan}`, `person:${things.borrower}`], (topic) =>
      heard.push(topic),
    );
    services.clock.set(at(3));
    await append(services, diary(at(0), [{ state: "seated", minutes: 120 }]));
    expect(await services.telemetry.unreviewed()).toHaveLength(1);
    expect(await reviewUnit(services, unit, silentJudge())).toBe(true);
    expect(await services.telemetry.unreviewed()).toEqual([]);
    expect(heard.sort()).toEqual(["clinic", `loan:${things.loan}`, `person:${things.borrower}`]);
  });
});
