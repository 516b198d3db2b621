import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { boundsOf } from "../../server/domain/adherence/bounds.ts";
import { ownRhythmRange, type RhythmDay } from "../../server/domain/adherence/own-rhythm.ts";
import type { MinuteState } from "../../server/domain/ledger/minute-state.ts";
import { instant } from "../../server/domain/units.ts";

const hour = 3_600_000;
type Hours = readonly [number, number];
/** Seated by quarters of an hour, from 8 to 20 where nothing else is said, with two due an hour; hours `gap` unseen. */
function day(index: number, met: number, gap: Hours | null = null, sat: Hours = [8, 20]): RhythmDay {
  const start = instant(index * 24 * hour);
  const isIn = (at: number, [from, to]: Hours) => at >= from && at < to;
  const state = (at: number): MinuteState => {
    if (gap && isIn(at, gap)) return "no-record";
    return isIn(at, sat) ? "seated" : "off";
  };
  const runs = Array.from({ length: 96 }, (_, quarter) => ({
    state: state(quarter / 4),
    start: instant(start + (quarter * hour) / 4),
    end: instant(start + ((quarter + 1) * hour) / 4),
  }));
  const unseen = gap ? (gap[1] - gap[0]) * 2 : 0;
  const counts = {
    met,
    missed: Math.max(0, Math.round(2 * (sat[1] - sat[0])) - unseen - met),
    notAssessable: unseen,
  };
  return { start, weekend: index % 7 >= 5, runs, counts, away: [] };
}
const isAway = (one: RhythmDay): RhythmDay => ({
  ...one,
  away: [{ start: one.start, end: instant(one.start + 24 * hour) }],
});
const usual = Array.from({ length: 14 }, (_, index) => day(index, 12 + (index % 3)));

describe("the range by the person's own rhythm", () => {
  test("a night that nobody could see hardly widens the range: nobody sits at night here", () => {
    const night = day(14, 12, [0, 7]);
    const range = ownRhythmRange([...usual, night], [night]);
    const bounds = boundsOf(night.counts);
    if (!range || !bounds) throw new Error("no range");
    expect(range.high - range.low).toBeLessThan(0.7 * (bounds.high - bounds.low));
    expect(range.seatedHours.best).toBeLessThan(1.5);
  });

  test("an afternoon unseen is taken as the sitting it usually is", () => {
    const afternoon = day(14, 8, [12, 18]);
    const range = ownRhythmRange([...usual, afternoon], [afternoon]);
    expect(range?.seatedHours.best).toBeGreaterThan(4);
  });

  test.each([
    ["earlier", 22, -1],
    ["later", 19, 1],
  ])(
    "a bedtime that grows %s with the season is followed, and no evening is taken for the sitting it was months before",
    (_, before, by) => {
      // A minute a day for half a year; the last week's evenings, from 18 on, were not seen.
      const bed = (index: number) => before + (by * index) / 60;
      const year = Array.from({ length: 173 }, (_, index) =>
        day(index, Math.round(bed(index) - 8), null, [8, bed(index)]),
      );
      const week = Array.from({ length: 7 }, (_, index) =>
        day(173 + index, 12, [18, 24], [8, bed(173 + index)]),
      );
      const sat = week.reduce((sum, _, index) => sum + bed(173 + index) - 18, 0);
      const range = ownRhythmRange([...year, ...week], week);
      // Half a year taken together is an hour and a half a day out.
      expect(Math.abs((range?.seatedHours.best ?? 0) - sat) / 7).toBeLessThan(0.75);
      expect(range?.seatedHours.low).toBeLessThanOrEqual(sat);
      expect(range?.seatedHours.high).toBeGreaterThanOrEqual(sat);
    },
  );

  test("a noted stay away teaches nothing of the rhythm, seen or not", () => {
    const gap = day(21, 8, [12, 18]);
    const nobody = Array.from({ length: 7 }, (_, index) => day(14 + index, 0, null, [0, 0]));
    const told = (stay: readonly RhythmDay[]) => ownRhythmRange([...usual, ...stay, gap], [gap]);
    expect(told(nobody.map(isAway))).toEqual(told([]));
    expect(told(nobody)?.seatedHours.best).toBeLessThan((told([])?.seatedHours.best ?? 0) - 1);
  });

  test("unseen time within a noted stay is anything from no sitting to the usual", () => {
    const gap = day(14, 8, [12, 18]);
    const home = ownRhythmRange([...usual, gap], [gap]);
    const away = ownRhythmRange([...usual, isAway(gap)], [isAway(gap)]);
    expect(home?.away).toBe(false);
    expect(away?.away).toBe(true);
    expect(away?.seatedHours).toMatchObject({ low: 0, best: 0 });
    expect(away?.low).toBeLessThanOrEqual(8 / 12);
    expect(away?.high).toBeGreaterThanOrEqual(8 / 12);
  });

  test("with less than a week seen, or nothing unseen, none is told", () => {
    const gap = day(3, 8, [12, 18]);
    expect(ownRhythmRange([...usual.slice(0, 3), gap], [gap])).toBeNull();
    expect(ownRhythmRange(usual, usual.slice(0, 7))).toBeNull();
  });

  test("it never leaves the no-assumption bounds, and fewer or more met moves it that way", () => {
    const anyDay = fc.record({
      met: fc.integer({ min: 0, max: 10 }),
      from: fc.integer({ min: 0, max: 20 }),
      length: fc.integer({ min: 1, max: 4 }),
    });
    fc.assert(
      fc.property(fc.array(anyDay, { minLength: 1, maxLength: 7 }), (list) => {
        const asked = list.map(({ met, from, length }, at) => day(14 + at, met, [from, from + length]));
        const range = ownRhythmRange([...usual, ...asked], asked);
        const notAssessable = asked.reduce((sum, { counts }) => sum + counts.notAssessable, 0);
        const met = asked.reduce((sum, { counts }) => sum + counts.met, 0);
        const missed = asked.reduce((sum, { counts }) => sum + counts.missed, 0);
        const bounds = boundsOf({ met, missed, notAssessable });
        if (!range || !bounds) return;
        for (const one of [range, range.ifFewer, range.ifMore]) {
          expect(one.low).toBeGreaterThanOrEqual(bounds.low - 1e-12);
          expect(one.high).toBeLessThanOrEqual(bounds.high + 1e-12);
        }
        expect(range.ifFewer.high).toBeLessThanOrEqual(range.high + 1e-12);
        expect(range.ifMore.low).toBeGreaterThanOrEqual(range.low - 1e-12);
      }),
      { numRuns: 60 },
    );
  });
});
