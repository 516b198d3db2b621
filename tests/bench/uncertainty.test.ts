import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { decide } from "../../server/domain/bench/decision.ts";
import { combined, rectangular, typeA } from "../../server/domain/bench/uncertainty.ts";

const exact = null;

describe("the uncertainty budget", () => {
  // Source: JCGM 100:2008 (GUM), table 1 and 4.4.3: twenty temperatures; figures from memory, checked by their mean.
  it("repeats as the GUM’s twenty temperatures: mean 100.145 °C, s 1.489, of the mean 0.333", () => {
    const temperatures = [
      96.9, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
      101.11, 101.2, 101.57, 101.84, 102.36, 102.72,
    ];
    const { mean, standard, degreesOfFreedom } = typeA(temperatures);
    expect(mean).toBeCloseTo(100.145, 3);
    expect(standard * Math.sqrt(20)).toBeCloseTo(1.489, 3);
    expect(standard).toBeCloseTo(0.333, 3);
    expect(degreesOfFreedom).toBe(19);
  });

  // Source: GUM 4.4.5, from memory.
  it("takes anything within ±4 °C as 2.3 °C, as the GUM does in 4.4.5", () => {
    expect(rectangular(4)).toBeCloseTo(2.3, 1);
  });

  // Source: JCGM 100:2008, H.1.3.2 and H.1.6 (end gauge; from memory): of the difference 5.8 nm with 24, 3.9 nm with 5
  // and 6.7 nm with 8 degrees of freedom: 9.7 nm with 25.6; of the length 25 nm with 18, 9.7 nm with 25.6, 2.9 nm with
  // 50 and 16.6 nm with 2: 32 nm, 16 effective, t 2.92 at 99 %, expanded 93 nm.
  it("is the GUM’s end gauge: 9.7 nm with 25 for the difference, then 32 nm with 16, factor 2.92, 93 nm at 99 %", () => {
    const difference = combined([
      { name: "repeats", standard: 5.8, degreesOfFreedom: 24 },
      { name: "comparator, random", standard: 3.9, degreesOfFreedom: 5 },
      { name: "comparator, systematic", standard: 6.7, degreesOfFreedom: 8 },
    ]);
    expect(difference.combined).toBeCloseTo(9.7, 1);
    expect(difference.degreesOfFreedom).toBe(25);
    const length = combined(
      [
        { name: "standard", standard: 25, degreesOfFreedom: 18 },
        { name: "difference", standard: 9.7, degreesOfFreedom: 25.6 },
        { name: "expansion", standard: 2.9, degreesOfFreedom: 50 },
        { name: "temperature", standard: 16.6, degreesOfFreedom: 2 },
      ],
      0.99,
    );
    expect(Math.round(length.combined)).toBe(32);
    expect(length.degreesOfFreedom).toBe(16);
    expect(length.coverageFactor).toBeCloseTo(2.92, 2);
    expect(Math.round(length.coverageFactor * 32)).toBe(93);
  });

  it("where all is known exactly uses the normal deviate, 1.96 at 95 %", () => {
    const { coverageFactor, degreesOfFreedom } = combined([
      { name: "certificate", standard: 1, degreesOfFreedom: exact },
    ]);
    expect(coverageFactor).toBeCloseTo(1.96, 2);
    expect(degreesOfFreedom).toBeNull();
  });
});

describe("the decision", () => {
  const positive = fc.double({ min: 0, max: 50, noNaN: true });
  const anywhere = fc.double({ min: -100, max: 100, noNaN: true });

  it("passes only what lies inside with all its uncertainty, and fails only what lies outside with all of it", () => {
    fc.assert(
      fc.property(anywhere, positive, anywhere, positive, (value, expanded, low, width) => {
        const high = low + width;
        const within = (x: number): boolean => x >= low && x <= high;
        const said = decide(value, expanded, { low, high });
        if (said === "pass") expect(within(value - expanded) && within(value + expanded)).toBe(true);
        if (said === "fail") expect(value + expanded < low || value - expanded > high).toBe(true);
        if (said === "not-settled")
          expect(
            [low, high].some((limit) => value - expanded <= limit && limit <= value + expanded) ||
              expanded === 0,
          ).toBe(true);
      }),
    );
  });

  it("leaves a value on the limit open as soon as it is uncertain", () => {
    expect(decide(10, 0, { low: null, high: 10 })).toBe("pass");
    expect(decide(10, 0.1, { low: null, high: 10 })).toBe("not-settled");
    expect(decide(10.2, 0.1, { low: null, high: 10 })).toBe("fail");
  });
});
