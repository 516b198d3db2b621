import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { comparePeriods } from "../../server/domain/adherence/compare-periods.ts";
import { scenarios } from "../../server/domain/adherence/scenarios.ts";
import type { ShareDay } from "../../server/domain/adherence/share-days.ts";
import { shareTrend } from "../../server/domain/adherence/share-trend.ts";
import { robustTrend } from "../../server/domain/statistics/robust-trend.ts";
import { clusteredShare, shareDifference } from "../../server/domain/statistics/share-difference.ts";
import { alikeNeighbours, slopeOfRanges } from "../../server/domain/statistics/slope-of-ranges.ts";
import robust from "../reference/robust-trend.json" with { type: "json" };
import newcombe from "../reference/share-difference-newcombe-1998.json" with { type: "json" };

const day = (x: number, met: number, missed: number, notAssessable = 0, observed = true): ShareDay => ({
  x,
  counts: { met, missed, notAssessable },
  observed,
});
const days = (count: number, of: (x: number) => ShareDay): ShareDay[] =>
  Array.from({ length: count }, (_, x) => of(x));
const enough = { days: 4, due: 20 };

describe("the interval of the difference of two shares", () => {
  it.each(newcombe.printed)("agrees with the printed table for $name", ({ first, second, low, high }) => {
    const share = ([yes = 0, trials = 1]: readonly number[]) => ({ share: yes / trials, trials });
    const found = shareDifference(share(first), share(second), newcombe.level);
    expect(found.low).toBeCloseTo(low, 3);
    expect(found.high).toBeCloseTo(high, 3);
  });

  it("counts days that are all alike within themselves as one trial each, and mixed ones in full", () => {
    // By hand: six days, three all met, three all missed, 10 due each: Σ(yes - p·n)² = 6·25 = 150, with 6/5 180;
    // independent it would be 60/4 = 15; effect 12, so that 60 reliefs are worth 5.
    const alike = Array.from({ length: 6 }, (_, index) => ({ yes: index % 2 === 0 ? 10 : 0, trials: 10 }));
    expect(clusteredShare(alike).trials).toBeCloseTo(5, 12);
    expect(clusteredShare(Array.from({ length: 6 }, () => ({ yes: 5, trials: 10 }))).trials).toBe(60);
  });
});

describe("two periods", () => {
  it("are told apart by the interval of their difference though their own intervals overlap", () => {
    // 60 of 100 and 46 of 100: own Wilson intervals 50 to 69 and 37 to 56 overlap, and the difference excludes none.
    const these = days(10, (x) => day(x, 6, 4));
    const others = days(10, (x) => day(x, x % 5 < 2 ? 4 : 5, x % 5 < 2 ? 6 : 5));
    const found = comparePeriods(these, others, enough);
    if (found.kind !== "compared") throw new Error("not compared");
    expect(found.seen.best).toBeCloseTo(0.14, 12);
    expect(found.seen.low).toBeGreaterThan(0);
  });

  it("are not compared where either has too little, and which is said", () => {
    const full = days(10, (x) => day(x, 6, 4));
    expect(comparePeriods(full, full.slice(0, 3), enough)).toEqual({ kind: "too-little", which: "others" });
    expect(
      comparePeriods(
        days(10, (x) => day(x, 6, 4, 0, false)),
        full,
        enough,
      ),
    ).toEqual({
      kind: "too-little",
      which: "these",
    });
  });

  const someDays = fc
    .array(fc.tuple(fc.nat(12), fc.nat(12), fc.nat(12)), { minLength: 6, maxLength: 20 })
    .map((list) => list.map(([met, missed, unseen], x) => day(x, met + 2, missed + 2, unseen)));

  it("differ, whatever happened unseen, by what the bounds without an assumption say", () => {
    fc.assert(
      fc.property(someDays, someDays, fc.double({ min: 0, max: 1, noNaN: true }), (these, others, part) => {
        const found = comparePeriods(these, others, enough);
        if (found.kind !== "compared") return;
        const truth = (list: readonly ShareDay[], made: number) => {
          const sum = (of: (one: ShareDay) => number) => list.reduce((total, one) => total + of(one), 0);
          const unseen = sum(({ counts }) => counts.notAssessable);
          const seen = sum(({ counts }) => counts.met + counts.missed);
          return (sum(({ counts }) => counts.met) + made * unseen) / (seen + unseen);
        };
        const difference = truth(these, part) - truth(others, 1 - part);
        expect(difference).toBeGreaterThanOrEqual(found.whatever.low - 1e-9);
        expect(difference).toBeLessThanOrEqual(found.whatever.high + 1e-9);
      }),
    );
  });
});

describe("a trend", () => {
  it("of values known exactly has Sen's interval, checked through the published series' slope", () => {
    const { values, slope } = robust.tenWithoutTies;
    const points = values.map((y, x) => ({ x, y }));
    const sen = robustTrend(points, 0.95);
    expect(sen?.slope.best).toBeCloseTo(slope, 12);
    const found = slopeOfRanges(
      points.map(({ x, y }) => ({ x, low: y, high: y })),
      0.95,
      1,
    );
    expect(found.low).toBeCloseTo(sen?.slope.low ?? 0, 12);
    expect(found.high).toBeCloseTo(sen?.slope.high ?? 0, 12);
  });

  it("of ranges holds every interval that points within them can have", () => {
    const range = fc.tuple(
      fc.double({ min: 0, max: 1, noNaN: true }),
      fc.double({ min: 0, max: 1, noNaN: true }),
    );
    fc.assert(
      fc.property(
        fc.array(fc.tuple(range, fc.double({ min: 0, max: 1, noNaN: true })), {
          minLength: 6,
          maxLength: 15,
        }),
        (list) => {
          const points = list.map(([[a, b]], x) => ({ x, low: Math.min(a, b), high: Math.max(a, b) }));
          const within = points.map(({ x, low, high }, index) => {
            const y = low + (high - low) * (list[index]?.[1] ?? 0);
            return { x, low: y, high: y };
          });
          const wide = slopeOfRanges(points, 0.95, 1);
          const narrow = slopeOfRanges(within, 0.95, 1);
          expect(wide.low).toBeLessThanOrEqual(narrow.low + 1e-9);
          expect(wide.high).toBeGreaterThanOrEqual(narrow.high - 1e-9);
        },
      ),
    );
  });

  it("is wider where each day goes with the one before, by (1 + r) / (1 - r)", () => {
    // By hand: 1, 1, -1, -1 has neighbours' products 1, -1, 1 over squares 4: r = 1/4, so 5/3.
    expect(alikeNeighbours([1, 1, -1, -1])).toBeCloseTo(5 / 3, 12);
    expect(alikeNeighbours([1, -1, 1, -1])).toBe(1);
  });

  it("is told from as many days as it takes and no fewer, and days hardly observed don't count", () => {
    const rising = days(21, (x) => day(x, 4 + Math.floor(x / 2), 16 - Math.floor(x / 2)));
    const found = shareTrend(rising, 21);
    expect(found?.seen.low).toBeGreaterThan(0);
    // Half a relief of twenty a day.
    expect(found?.seen.best).toBeCloseTo(7 * 0.025, 2);
    expect(found?.whatever).toEqual({ low: found?.seen.low, high: found?.seen.high });
    expect(shareTrend(rising.slice(1), 21)).toBeNull();
    expect(shareTrend([...rising.slice(1), day(30, 20, 0, 0, false)], 21)).toBeNull();
  });

  it("that what went unseen could undo says so in its second interval", () => {
    const found = shareTrend(
      days(25, (x) => day(x, 6 + (x > 12 ? 3 : 0), 6, x > 12 ? 8 : 0)),
      21,
    );
    expect(found?.whatever.low).toBeLessThan(0);
    expect(found?.whatever.high).toBeGreaterThan(found?.seen.high ?? 1);
  });
});

describe("named assumptions", () => {
  const counts = { met: 60, missed: 20, notAssessable: 20 };
  const of = (rows: ReturnType<typeof scenarios>, name: string) => rows.find((row) => row.name === name)?.low;

  it("give the bounds at their ends, and drop what nobody sat through", () => {
    const rows = scenarios(counts, 12, null);
    expect(of(rows, "all-made")).toBeCloseTo(0.8, 12);
    expect(of(rows, "none-made")).toBeCloseTo(0.6, 12);
    expect(of(rows, "as-seen")).toBeCloseTo(0.75, 12);
    // Of 88 that may have been due: 60 met, 8 more that can't be told.
    const given = rows.find(({ name }) => name === "verdicts-as-given");
    expect(given?.low).toBeCloseTo(60 / 88, 12);
    expect(given?.high).toBeCloseTo(68 / 88, 12);
    expect(of(scenarios(counts, 0, null), "verdicts-as-given")).toBeUndefined();
  });

  it("are none where nothing went unseen or nothing was seen", () => {
    expect(scenarios({ met: 3, missed: 1, notAssessable: 0 }, 0, null)).toEqual([]);
    expect(scenarios({ met: 0, missed: 0, notAssessable: 5 }, 0, null)).toEqual([]);
  });
});
