import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { boundsOf, countReliefs } from "../../server/domain/adherence/bounds.ts";
import { dueReliefs } from "../../server/domain/adherence/due-reliefs.ts";
import { clockAtRest } from "../../server/domain/adherence/relief-clock.ts";
import type { ReliefPlan } from "../../server/domain/adherence/relief-plan.ts";
import { loanId } from "../../server/domain/ids.ts";
import { noMinutes } from "../../server/domain/ledger/build-ledger.ts";
import { findThinStretches } from "../../server/domain/ledger/find-thin-stretches.ts";
import type { LedgerDay, LedgerRun, MinuteState } from "../../server/domain/ledger/minute-state.ts";
import type { RecordedRelief } from "../../server/domain/record/unit-record.ts";
import { addDays, localDay } from "../../server/domain/time/local-day.ts";
import { type Instant, instant, minutes, probability, seconds } from "../../server/domain/units.ts";

const minute = 60_000;
const origin = Date.UTC(2026, 4, 4);
const at = (minutesIn: number): Instant => instant(origin + minutesIn * minute);
const plan: ReliefPlan = {
  version: 1,
  validFrom: instant(0),
  interval: minutes(30),
  hold: seconds(60),
  kinds: ["lift", "lean-left"],
};

/** [state, minutes] pairs, cut into days at 24 h. */
type Pieces = readonly (readonly [MinuteState, number])[];

function daysOf(pieces: Pieces): LedgerDay[] {
  const first = localDay("2026-05-04");
  if (!first) throw new Error("not a day");
  const days: LedgerDay[] = [];
  const open = (index: number) => {
    const runs: LedgerRun[] = [];
    days.push({
      loan: loanId("loan_1"),
      day: addDays(first, index),
      start: at(index * 1440),
      end: at((index + 1) * 1440),
      runs,
      minutes: noMinutes(),
    });
    return runs;
  };
  let runs = open(0);
  let now = 0;
  for (const [state, length] of pieces) {
    let left = length;
    while (left > 0) {
      const step = Math.min(left, days.length * 1440 - now);
      if (step > 0) runs.push({ state, start: at(now), end: at(now + step) });
      now += step;
      left -= step;
      if (now === days.length * 1440) runs = open(days.length);
    }
  }
  return days;
}

const relief = (minutesIn: number, over: Partial<RecordedRelief> = {}): RecordedRelief => ({
  at: at(minutesIn),
  receivedAt: at(minutesIn),
  kind: "lift",
  hold: seconds(90),
  depth: probability(0.9),
  outcome: "complete",
  prompted: false,
  ...over,
});

const work = (pieces: Pieces, reliefs: readonly RecordedRelief[] = [], plans = [plan]) =>
  dueReliefs({ days: daysOf(pieces), reliefs, plans, sufficientOffMinutes: 2, until: at(1e6) });

const told = (pieces: Pieces, reliefs: readonly RecordedRelief[] = [], plans = [plan]) =>
  work(pieces, reliefs, plans).due.map((due) => [(due.dueAt - origin) / minute, due.outcome]);

describe("reliefs due", () => {
  it("are missed once an interval in one long sit, each at the moment it was due", () => {
    expect(
      told([
        ["off", 60],
        ["seated", 100],
        ["off", 60],
      ]),
    ).toEqual([
      [90, "missed"],
      [120, "missed"],
      [150, "missed"],
    ]);
  });

  it("are met by a relief within the interval or its grace of a fifth, and the clock starts again from it", () => {
    expect(told([["seated", 70]], [relief(29), relief(64)])).toEqual([
      [29, "met"],
      [64, "met"],
    ]);
    expect(told([["seated", 70]], [relief(29), relief(66)])).toEqual([
      [29, "met"],
      [59, "missed"],
    ]);
  });

  it("are met by enough time off the cushion, not by less", () => {
    expect(
      told([
        ["seated", 25],
        ["off", 2],
        ["seated", 25],
      ]),
    ).toEqual([[27, "met"]]);
    expect(
      told([
        ["seated", 25],
        ["off", 1],
        ["seated", 25],
      ]),
    ).toEqual([[31, "missed"]]);
    expect(
      told([
        ["seated", 25],
        ["on-charge", 2],
        ["seated", 25],
      ]),
    ).toEqual([[27, "met"]]);
  });

  it("are not answered by a relief broken off, too short, or of a kind the plan doesn't allow", () => {
    for (const poor of [
      relief(20, { outcome: "broken-off" }),
      relief(20, { hold: seconds(59) }),
      relief(20, { kind: "tilt" }),
    ])
      expect(told([["seated", 40]], [poor])).toEqual([[30, "missed"]]);
    expect(told([["seated", 40]], [relief(20)])).toEqual([[20, "met"]]);
  });

  it("come to seated time over interval, so ten lifts in a row are not ten reliefs", () => {
    const lifts = Array.from({ length: 10 }, (_, index) => relief(20 + index));
    expect(told([["seated", 70]], lifts)).toEqual([
      [20, "met"],
      [59, "missed"],
    ]);
    const often = Array.from({ length: 44 }, (_, index) => relief(10 * (index + 1)));
    expect(countReliefs(work([["seated", 444]], often).due)).toEqual({
      met: 15,
      missed: 0,
      notAssessable: 0,
    });
  });

  it("that meet a gap are not assessable, with the sitting either side of it", () => {
    // 20 min sat, 25 unseen, 10 sat to a relief: 55 min in which two could have fallen due.
    expect(
      told(
        [
          ["seated", 20],
          ["no-record", 25],
          ["seated", 40],
        ],
        [relief(55)],
      ),
    ).toEqual([
      [30, "not-assessable"],
      [55, "not-assessable"],
    ]);
    expect(
      told([
        ["seated", 20],
        ["not-trusted", 25],
        ["off", 40],
      ])[0],
    ).toEqual([30, "not-assessable"]);
  });

  it("follow the plan in force when it happened, and there are none before the first", () => {
    const hourly = { ...plan, version: 2, validFrom: at(200), interval: minutes(60) };
    const later = { ...plan, validFrom: at(100) };
    expect(told([["seated", 280]], [], [hourly, later])).toEqual([
      [130, "missed"],
      [160, "missed"],
      [190, "missed"],
      [260, "missed"],
    ]);
  });

  it("leave out what lies after the end of the loan", () => {
    expect(
      told([
        ["seated", 20],
        ["outside-loan", 500],
      ]),
    ).toEqual([]);
  });
});

const pieceArbitrary = fc.tuple(
  fc.constantFrom<MinuteState>(
    "seated",
    "seated",
    "off",
    "on-charge",
    "no-record",
    "awaiting",
    "not-trusted",
  ),
  fc.oneof(fc.integer({ min: 1, max: 50 }), fc.integer({ min: 1, max: 400 })),
);
const reliefsArbitrary = fc
  .array(fc.integer({ min: 0, max: 4000 * 4 }), { maxLength: 60 })
  .map((quarters) => quarters.sort((a, b) => a - b).map((quarter) => relief(quarter / 4)));

describe("the relief clock", () => {
  it("gives day by day, carried as a value, what it gives for all days at once", () => {
    fc.assert(
      fc.property(fc.array(pieceArbitrary, { maxLength: 40 }), reliefsArbitrary, (pieces, reliefs) => {
        const days = daysOf(pieces);
        const whole = dueReliefs({ days, reliefs, plans: [plan], sufficientOffMinutes: 2, until: at(1e6) });
        let clock = clockAtRest;
        const due = [];
        const sits = [];
        for (const day of days) {
          const request = { days: [day], reliefs, plans: [plan], sufficientOffMinutes: 2, until: at(1e6) };
          const part = dueReliefs(request, clock);
          due.push(...part.due);
          sits.push(...part.sits);
          clock = part.clock;
        }
        expect({ due, sits, clock }).toEqual(whole);
      }),
      { numRuns: 150 },
    );
  });

  it("never finds more reliefs due than the time it looked at has intervals, give or take one a sitting day", () => {
    fc.assert(
      fc.property(fc.array(pieceArbitrary, { maxLength: 40 }), reliefsArbitrary, (pieces, reliefs) => {
        const counts = countReliefs(work(pieces, reliefs).due);
        const total = (states: readonly string[]) =>
          pieces.reduce((sum, [state, length]) => sum + (states.includes(state) ? length : 0), 0);
        const rests = pieces.filter(
          ([state, length]) => ["off", "on-charge"].includes(state) && length >= 2,
        ).length;
        expect(counts.met + counts.missed).toBeLessThanOrEqual(total(["seated"]) / 30 + 1 + rests / 2);
      }),
      { numRuns: 150 },
    );
  });

  // The promise behind the bounds: whatever happened in the time without a record, the true share lies within them.
  it("has the truth within its bounds whatever happened in the unseen time", () => {
    const truthArbitrary = fc.array(
      fc.tuple(
        fc.constantFrom<MinuteState>("seated", "seated", "off"),
        fc.integer({ min: 1, max: 90 }),
        fc.boolean(),
      ),
      { minLength: 1, maxLength: 40 },
    );
    fc.assert(
      fc.property(
        truthArbitrary,
        fc.array(fc.integer({ min: 0, max: 14_400 }), { maxLength: 60 }),
        (spells, when) => {
          const length = spells.reduce((sum, [, span]) => sum + span, 0);
          const reliefs = when
            .map((second) => second / 4)
            .filter((minutesIn) => minutesIn < length)
            .sort((a, b) => a - b);
          const hidden: [number, number][] = [];
          let from = 0;
          for (const [, span, isHidden] of spells) {
            if (isHidden) hidden.push([from, from + span]);
            from += span;
          }
          const truth = work(
            [...spells.map(([state, span]): [MinuteState, number] => [state, span]), ["outside-loan", 5]],
            reliefs.map((minutesIn) => relief(minutesIn)),
          );
          const seen = work(
            [
              ...spells.map(([state, span, isHidden]): [MinuteState, number] => [
                isHidden ? "no-record" : state,
                span,
              ]),
              ["outside-loan", 5],
            ],
            reliefs
              .filter((minutesIn) => !hidden.some(([start, end]) => minutesIn >= start && minutesIn < end))
              .map((minutesIn) => relief(minutesIn)),
          );
          const share = boundsOf(countReliefs(truth.due))?.seen;
          const bounds = boundsOf(countReliefs(seen.due));
          if (share === undefined || share === null) return;
          expect(bounds).not.toBeNull();
          expect(share).toBeGreaterThanOrEqual((bounds?.low ?? 1) - 1e-12);
          expect(share).toBeLessThanOrEqual((bounds?.high ?? 0) + 1e-12);
        },
      ),
      { numRuns: 3000 },
    );
  });

  // A week's bounds are its days' put together, so each day has to keep the promise by itself: what is decided after
  // midnight, of a time nobody saw before it, may not go missing from the day it is counted in.
  it("has each day's truth within that day's bounds, and any days' together", () => {
    const spells = fc.array(
      fc.tuple(
        fc.constantFrom<MinuteState>("seated", "seated", "off"),
        fc.integer({ min: 1, max: 240 }),
        fc.integer({ min: 1, max: 4 }).map((one) => one === 1),
      ),
      { minLength: 20, maxLength: 60 },
    );
    const gaps = fc.array(fc.integer({ min: 1, max: 90 }), { minLength: 20, maxLength: 150 });
    fc.assert(
      fc.property(spells, gaps, (list, between) => {
        const hidden: [number, number][] = [];
        let from = 0;
        for (const [, span, isHidden] of list) {
          if (isHidden) hidden.push([from, from + span]);
          from += span;
        }
        const reliefs: RecordedRelief[] = [];
        for (let now = 0, next = 0; next < between.length; next += 1) {
          now += between[next] ?? 1;
          if (now < from) reliefs.push(relief(now));
        }
        const perDay = (pieces: Pieces, known: readonly RecordedRelief[]) => {
          let clock = clockAtRest;
          return daysOf(pieces).map((day) => {
            const rules = { reliefs: known, plans: [plan], sufficientOffMinutes: 2, until: at(from) };
            const part = dueReliefs({ ...rules, days: [day] }, clock);
            clock = part.clock;
            return part.due;
          });
        };
        const truth = perDay(
          list.map(([state, span]): [MinuteState, number] => [state, span]),
          reliefs,
        );
        const seen = perDay(
          list.map(([state, span, isHidden]): [MinuteState, number] => [
            isHidden ? "no-record" : state,
            span,
          ]),
          reliefs.filter((one) => !hidden.some(([start, end]) => one.at >= at(start) && one.at < at(end))),
        );
        // The last day is not over.
        for (let first = 0; first < truth.length - 1; first += 1)
          for (let last = first + 1; last < truth.length; last += 1) {
            const share = boundsOf(countReliefs(truth.slice(first, last).flat()))?.seen;
            const bounds = boundsOf(countReliefs(seen.slice(first, last).flat()));
            if (share === undefined || share === null) continue;
            expect(share).toBeGreaterThanOrEqual((bounds?.low ?? 1) - 1e-12);
            expect(share).toBeLessThanOrEqual((bounds?.high ?? 0) + 1e-12);
          }
      }),
      { numRuns: 1500 },
    );
  });
});

describe("thin stretches", () => {
  const thin = (pieces: Pieces, reliefs: readonly RecordedRelief[] = []) =>
    findThinStretches(work(pieces, reliefs), { thinStretchDue: 3 }).map(({ start, end }) => [
      (start - origin) / minute,
      end === null ? null : (end - origin) / minute,
    ]);

  it("run from sitting down to the next off-load, time off or gap, and may go on", () => {
    expect(
      thin([
        ["off", 60],
        ["seated", 100],
        ["off", 60],
      ]),
    ).toEqual([[60, 160]]);
    expect(thin([["seated", 200]], [relief(130)])).toEqual([[0, 130]]);
    expect(
      thin([
        ["seated", 100],
        ["no-record", 60],
      ]),
    ).toEqual([[0, 100]]);
    expect(thin([["seated", 100]])).toEqual([[0, null]]);
  });

  it("are not found where reliefs come, even late ones", () => {
    const late = Array.from({ length: 9 }, (_, index) => relief(45 * (index + 1)));
    expect(thin([["seated", 430]], late)).toEqual([]);
  });

  it("are not found from time without a record", () => {
    expect(
      thin([
        ["seated", 20],
        ["no-record", 300],
        ["seated", 20],
      ]),
    ).toEqual([]);
  });
});
