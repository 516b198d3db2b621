import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { cutGaps } from "../../server/domain/ledger/ran-unheard.ts";
import type { SequenceHole } from "../../server/domain/record/unit-record.ts";
import { type Instant, instant } from "../../server/domain/units.ts";

const minute = 60_000;
const at = (minutes: number): Instant => instant(minutes * minute);
const hole = (after: number | null, before: number | null, endsAbout?: number): SequenceHole => ({
  boot: 1,
  fromSequence: 1,
  toSequence: 9,
  after: after === null ? null : at(after),
  before: before === null ? null : at(before),
  ...(endsAbout === undefined ? {} : { endsAbout: at(endsAbout) }),
  fate: "lost",
});
const cut = (start: number, end: number, holes: readonly SequenceHole[]) =>
  cutGaps([{ kind: "gap", start: at(start), end: at(end) }], holes, { shortestGapMinutes: 20 }, at(end)).map(
    (part) => [part.start / minute, (part.end ?? Number.NaN) / minute],
  );

describe("a gap", () => {
  it("is cut where the unit ceased to run, and where it began to", () => {
    expect(cut(0, 600, [hole(0, 200)])).toEqual([
      [0, 200],
      [200, 600],
    ]);
    expect(cut(0, 600, [hole(0, null, 200), hole(400, 600)])).toEqual([
      [0, 200],
      [200, 400],
      [400, 600],
    ]);
  });

  it("that goes on is cut too, and its last part goes on", () => {
    const gap = { kind: "gap", start: at(0), end: null } as const;
    expect(cutGaps([gap], [hole(0, null, 200)], { shortestGapMinutes: 20 }, at(600))).toEqual([
      { kind: "gap", start: at(0), end: at(200) },
      { kind: "gap", start: at(200), end: null },
    ]);
  });

  it("after a network outage that outlasted the store and then a flat cell is three: the oldest minutes written over, the cut-off where the unit told of it, and the time it was off", () => {
    // What the store still held came late and is no gap (60 to 100); the cut-off itself is a message and ends the last hole.
    const outage = [hole(0, 60), hole(100, 300)];
    expect(cut(100, 600, outage)).toEqual([
      [100, 300],
      [300, 600],
    ]);
    expect(cut(0, 60, outage)).toEqual([[0, 60]]);
  });

  it("stays whole where the unit ran through it, whatever single message came out of it", () => {
    expect(cut(0, 600, [hole(0, 200), hole(201, 600)])).toEqual([[0, 600]]);
  });

  it("stays whole where nobody knows when the missing messages were written", () => {
    expect(cut(0, 600, [hole(null, null), hole(100, null), hole(null, 300)])).toEqual([[0, 600]]);
  });

  it("leaves no part too short to ask about, and loses no minute", () => {
    const edge = fc.integer({ min: -100, max: 700 });
    fc.assert(
      fc.property(fc.array(fc.tuple(edge, edge), { maxLength: 5 }), (pairs) => {
        const parts = cut(
          0,
          600,
          pairs.map(([a, b]) => hole(Math.min(a, b), Math.max(a, b))),
        );
        expect(parts[0]?.[0]).toBe(0);
        expect(parts.at(-1)?.[1]).toBe(600);
        for (const [index, part] of parts.entries()) {
          if (index > 0) expect(part[0]).toBe(parts[index - 1]?.[1]);
          expect((part[1] ?? 0) - (part[0] ?? 0)).toBeGreaterThanOrEqual(20);
        }
      }),
    );
  });
});
