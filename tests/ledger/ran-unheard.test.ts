import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { cutWhereRunningChanged, ranUnheard } from "../../server/domain/ledger/ran-unheard.ts";
import type { SequenceHole } from "../../server/domain/record/unit-record.ts";
import { type Instant, instant, milliseconds } from "../../server/domain/units.ts";

const minute = 60_000;
const at = (minutes: number): Instant => instant(minutes * minute);
const shortest = milliseconds(20 * minute);
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
  cutWhereRunningChanged({ start: at(start), end: at(end) }, ranUnheard(holes, shortest), shortest).map(
    (part) => [part.start / minute, part.end / minute],
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
