import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { maximumHolesPerBoot } from "../../firmware-protocol/src/limits.ts";
import { mergeRanges, receivedUpTo, type SequenceRange } from "../../server/store/telemetry-ranges.ts";

/** The naive account the ranges must agree with: a plain set of numbers. */
const numbersIn = (ranges: readonly SequenceRange[]): Set<number> =>
  new Set(ranges.flatMap(({ from, to }) => Array.from({ length: to - from + 1 }, (_, step) => from + step)));

const anyRanges = fc.array(
  fc
    .record({ from: fc.nat(400), length: fc.nat(6) })
    .map(({ from, length }) => ({ from, to: from + length })),
  { maxLength: 150, size: "max" },
);

describe("ranges of sequences", () => {
  it("hold the same numbers as a set of them would, in order, neither touching nor overlapping", () => {
    fc.assert(
      fc.property(anyRanges, (ranges) => {
        const merged = mergeRanges(ranges);
        expect(numbersIn(merged)).toEqual(numbersIn(ranges));
        for (const [at, range] of merged.slice(1).entries()) {
          expect(range.from).toBeGreaterThan((merged[at]?.to ?? 0) + 1);
        }
      }),
    );
  });

  it("receipt exactly what is there: everything up to `through` save the holes, however many holes there are", () => {
    fc.assert(
      fc.property(anyRanges, (ranges) => {
        const there = numbersIn(ranges);
        const upTo = receivedUpTo(mergeRanges(ranges));
        if (upTo === null) {
          expect(there.size).toBe(0);
          return;
        }
        const missing = numbersIn(upTo.holes.map(([from, to]) => ({ from, to })));
        for (let sequence = 0; sequence <= upTo.through; sequence++) {
          expect(there.has(sequence)).toBe(!missing.has(sequence));
        }
        expect(upTo.holes.length).toBeLessThanOrEqual(maximumHolesPerBoot);
        const complete = upTo.holes.length < maximumHolesPerBoot;
        if (complete) expect(upTo.through).toBe(Math.max(...there));
      }),
    );
  });
});
