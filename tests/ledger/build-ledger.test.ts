import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { buildLedger, type LoanWindow } from "../../server/domain/ledger/build-ledger.ts";
import { findGaps } from "../../server/domain/ledger/find-gaps.ts";
import type { LedgerDay, MinuteState } from "../../server/domain/ledger/minute-state.ts";
import type {
  PowerState,
  RecordedFault,
  RecordedMinute,
  SeatState,
  SequenceHole,
} from "../../server/domain/record/unit-record.ts";
import {
  addDays,
  dayBounds,
  daysTouched,
  type LocalDay,
  localDay,
  type ZoneName,
  zoneName,
} from "../../server/domain/time/local-day.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  kilograms,
  millivolts,
} from "../../server/domain/units.ts";

const minute = 60_000;
const hour = 60 * minute;
const must = <Value>(value: Value | null): Value => {
  if (value === null) throw new Error("the test's own constant is wrong");
  return value;
};
const london = must(zoneName("Europe/London"));
const lordHowe = must(zoneName("Australia/Lord_Howe"));
const monday = must(localDay("2026-05-04"));
const { start } = dayBounds(monday, london);
const at = (minutesIn: number): Instant => instant(start + minutesIn * minute);

const recorded = (
  when: Instant,
  seat: SeatState = "loaded",
  power: PowerState = "on-battery",
): RecordedMinute => ({
  at: when,
  receivedAt: when,
  boot: 1,
  seat,
  power,
  load: kilograms(seat === "loaded" ? 60 : 0),
  centreRight: 0,
  centreFront: 0,
  cell: millivolts(3_900),
  temperature: celsius(28),
  signal: decibelMilliwatts(-60),
});

interface Case {
  minutes?: readonly RecordedMinute[];
  faults?: readonly RecordedFault[];
  holes?: readonly SequenceHole[];
  window?: Partial<LoanWindow>;
  now?: Instant;
  zone?: ZoneName;
}

const ledger = (days: readonly LocalDay[], { minutes = [], faults = [], holes = [], ...rest }: Case) =>
  buildLedger(
    {
      window: { loan: loanId("loan_1"), start: instant(0), end: null, ...rest.window },
      record: { minutes, faults, holes },
      now: rest.now ?? at(100_000),
      zone: rest.zone ?? london,
    },
    days,
  );

const only = (days: readonly LedgerDay[]): LedgerDay => {
  const [day] = days;
  if (!day || days.length !== 1) throw new Error(`${days.length} days`);
  return day;
};
const runsOf = (day: LedgerDay) =>
  day.runs.map((run) => [run.state, (run.start - day.start) / minute, (run.end - day.start) / minute]);
const sittings = (from: number, count: number, spacing = minute): RecordedMinute[] =>
  Array.from({ length: count }, (_, index) => recorded(instant(start + from * minute + index * spacing)));

function expectExactTiling(day: LedgerDay): void {
  expect(day.runs[0]?.start).toBe(day.start);
  expect(day.runs.at(-1)?.end).toBe(day.end);
  const summed: Partial<Record<MinuteState, number>> = {};
  for (const [index, run] of day.runs.entries()) {
    expect(run.end).toBeGreaterThan(run.start);
    const next = day.runs[index + 1];
    if (next) {
      expect(next.start).toBe(run.end);
      expect(next.state).not.toBe(run.state);
    }
    summed[run.state] = (summed[run.state] ?? 0) + (run.end - run.start) / minute;
  }
  for (const [state, count] of Object.entries(day.minutes))
    expect(summed[state as MinuteState] ?? 0).toBe(count);
  expect(Object.values(day.minutes).reduce((sum, count) => sum + count, 0)).toBe(
    (day.end - day.start) / minute,
  );
}

const changeDays = [
  // Lengths from the IANA tz database, see local-day.test.ts.
  { zone: london, from: "2026-03-28", lengths: [1440, 1380, 1440] },
  { zone: london, from: "2026-10-24", lengths: [1440, 1500, 1440] },
  { zone: lordHowe, from: "2026-04-04", lengths: [1440, 1470, 1440] },
  { zone: lordHowe, from: "2026-10-03", lengths: [1440, 1410, 1440] },
] as const;

describe("every minute of a loan", () => {
  it.each(changeDays)("is in one state, and days from $from in $zone add up", ({ zone, from, lengths }) => {
    const days = [0, 1, 2].map((index) => addDays(must(localDay(from)), index));
    const first = dayBounds(must(localDay(from)), zone).start;
    const spells = fc.array(
      fc.record({
        length: fc.integer({ min: 1, max: 500 }),
        lostMinutes: fc.integer({ min: 0, max: 120 }),
        seat: fc.constantFrom<SeatState>("loaded", "empty"),
        power: fc.constantFrom<PowerState>("on-battery", "charging", "charged"),
        shift: fc.integer({ min: 0, max: minute - 1 }),
      }),
      { maxLength: 15 },
    );
    const moment = fc.integer({ min: -2 * hour, max: 74 * hour });
    fc.assert(
      fc.property(
        spells,
        moment,
        moment,
        moment,
        fc.array(moment, { maxLength: 4 }),
        (parts, a, b, now, wet) => {
          const minutes: RecordedMinute[] = [];
          let when: number = first;
          for (const { length, lostMinutes, seat, power, shift } of parts) {
            when += lostMinutes * minute + shift;
            for (let index = 0; index < length; index += 1, when += minute)
              minutes.push(recorded(instant(when), seat, power));
          }
          const built = ledger(days, {
            zone,
            minutes,
            faults: wet
              .sort((x, y) => x - y)
              .map((offset) => ({
                at: instant(first + offset),
                receivedAt: instant(0),
                code: "wet",
                detail: "",
              })),
            window: { start: instant(first + Math.min(a, b)), end: instant(first + Math.max(a, b)) },
            now: instant(first + now),
          });
          for (const day of built) expectExactTiling(day);
          expect(built.map((day) => (day.end - day.start) / minute)).toEqual(lengths);
          expect(built.map((day) => day.day)).toEqual(
            daysTouched({ start: first, end: built.at(-1)?.end ?? start }, zone),
          );
        },
      ),
      { numRuns: 25 },
    );
  });

  it("is seated when loaded, even while charging, and on charge or off when empty", () => {
    const minutes = [
      recorded(at(0), "loaded", "charging"),
      recorded(at(1), "empty", "charging"),
      recorded(at(2), "empty", "charged"),
      recorded(at(3), "empty"),
    ];
    expect(runsOf(only(ledger([monday], { minutes })))).toEqual([
      ["seated", 0, 1],
      ["on-charge", 1, 3],
      ["off", 3, 4],
      ["no-record", 4, 1440],
    ]);
  });

  it("is neither doubled nor lost when a unit's minutes don't start on the wall clock's", () => {
    for (const spacing of [59_990, 60_000, 60_010])
      for (const offset of [0, 1, 17.5, 29.9995 / 60, 0.5, 59.99 / 60]) {
        const day = only(ledger([monday], { minutes: sittings(100 + offset, 600, spacing) }));
        expect(day.runs.filter((run) => run.state === "seated")).toHaveLength(1);
        expect(Math.abs(day.minutes.seated - (600 * spacing) / minute)).toBeLessThanOrEqual(1);
      }
  });

  it("is lost when a record is really missing", () => {
    const minutes = sittings(100, 60).filter((_, index) => index !== 30);
    expect(only(ledger([monday], { minutes })).runs.filter((run) => run.state === "seated")).toHaveLength(2);
  });

  it("is to come when it has not ended, and outside the loan before it starts and after it ends", () => {
    const day = only(
      ledger([monday], {
        minutes: sittings(0, 1440),
        window: { start: at(60), end: at(120) },
        now: at(1000.5),
      }),
    );
    expect(runsOf(day)).toEqual([
      ["outside-loan", 0, 60],
      ["seated", 60, 120],
      ["outside-loan", 120, 1440],
    ]);
    expect(runsOf(only(ledger([monday], { minutes: sittings(0, 200), now: at(200.5) })))).toEqual([
      ["seated", 0, 200],
      ["to-come", 200, 1440],
    ]);
  });

  it("awaits what the unit has numbered and not yet sent, not what is lost or can't be placed", () => {
    const hole = { boot: 1, fromSequence: 5, toSequence: 9, after: at(10), before: at(100) } as const;
    const states = (holes: readonly SequenceHole[]) =>
      only(ledger([monday], { minutes: sittings(0, 10), holes }));
    expect(states([{ ...hole, fate: "awaited" }]).minutes.awaiting).toBe(90);
    expect(states([{ ...hole, fate: "lost" }]).minutes.awaiting).toBe(0);
    expect(states([{ ...hole, after: null, fate: "awaited" }]).minutes.awaiting).toBe(0);
  });

  it("is not trusted for half an hour after the unit says it is wet", () => {
    const faults: RecordedFault[] = [
      { at: at(30), receivedAt: at(30), code: "wet", detail: "" },
      { at: at(40), receivedAt: at(40), code: "wet", detail: "" },
      { at: at(200), receivedAt: at(200), code: "grid-self-test", detail: "" },
    ];
    expect(runsOf(only(ledger([monday], { minutes: sittings(0, 300), faults }))).slice(0, 3)).toEqual([
      ["seated", 0, 30],
      ["not-trusted", 30, 70],
      ["seated", 70, 300],
    ]);
  });
});

describe("gaps", () => {
  const two = [monday, addDays(monday, 1)];
  const gaps = (shortestGapMinutes: number, what: Case) => {
    const now = what.now ?? at(100_000);
    return findGaps(ledger(two, what), { shortestGapMinutes }, now).map((gap) => [
      (gap.start - start) / minute,
      gap.end === null ? null : (gap.end - start) / minute,
    ]);
  };

  it("go over midnight as one, and are listed from the shortest length on", () => {
    const minutes = [
      ...sittings(0, 1400),
      ...sittings(1500, 100),
      ...sittings(1619, 500),
      ...sittings(2139, 741),
    ];
    expect(gaps(20, { minutes })).toEqual([
      [1400, 1500],
      [2119, 2139],
    ]);
  });

  it("go on while nothing has come, end with the loan, and don't flash while a batch is on its way", () => {
    const minutes = sittings(0, 1000);
    expect(gaps(20, { minutes, now: at(1019.9) })).toEqual([]);
    expect(gaps(20, { minutes, now: at(1020) })).toEqual([[1000, null]]);
    expect(gaps(20, { minutes, now: at(1500) })).toEqual([[1000, null]]);
    expect(gaps(20, { minutes, now: at(1500), window: { end: at(1100) } })).toEqual([[1000, 1100]]);
    expect(gaps(2, { minutes, now: at(1010) })).toEqual([]);
    expect(gaps(2, { minutes, now: at(1016) })).toEqual([[1000, null]]);
  });

  it("hold what is awaited as well as what is not", () => {
    const holes: SequenceHole[] = [
      { boot: 1, fromSequence: 1, toSequence: 2, after: at(50), before: at(100), fate: "awaited" },
    ];
    const minutes = [...sittings(0, 40), ...sittings(100, 2780)];
    expect(gaps(20, { minutes, holes })).toEqual([[40, 100]]);
  });
});
