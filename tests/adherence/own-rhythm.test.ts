import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { boundsOf } from "../../server/domain/adherence/bounds.ts";
import { ownRhythmRange, type RhythmDay } from "../../server/domain/adherence/own-rhythm.ts";
import type { MinuteState } from "../../server/domain/ledger/minute-state.ts";
import { instant } from "../../server/domain/units.ts";

const hour = 3_600_000;
/** Seated 8 to 20 with 24 due; hours `gap` unseen. */
function day(index: number, met: number, gap: readonly [number, number] | null = null): RhythmDay {
  const start = instant(index * 24 * hour);
  const state = (at: number): MinuteState => {
    if (gap && at >= gap[0] && at < gap[1]) return "no-record";
    return at >= 8 && at < 20 ? "seated" : "off";
  };
  const runs = Array.from({ length: 24 }, (_, at) => ({
    state: state(at),
    start: instant(start + at * hour),
    end: instant(start + (at + 1) * hour),
  }));
  const unseen = gap ? (gap[1] - gap[0]) * 2 : 0;
  const counts = { met, missed: Math.max(0, 24 - unseen - met), notAssessable: unseen };
  return { start, weekend: index % 7 >= 5, runs, counts };
}
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
