import { describe, expect, it } from "vitest";
import { boundsOf } from "../../server/domain/adherence/bounds.ts";

// Source: the homelessness example of C. F. Manski, Identification Problems in the Social Sciences, 1995, and Partial
// Identification of Probability Distributions, 2003 (numbers from memory, with the arithmetic that follows from them).
const published = [
  { who: "men: 106 asked, 64 found, 21 of them housed", n: 106, found: 64, yes: 21, printed: [0.2, 0.59] },
  { who: "women: 31 asked, 14 found, 3 of them housed", n: 31, found: 14, yes: 3, printed: [0.1, 0.65] },
] as const;

describe("bounds that assume nothing about what was not seen", () => {
  it.each(published)("agree with the printed example, $who", ({ n, found, yes, printed }) => {
    const share = boundsOf({ met: yes, missed: found - yes, notAssessable: n - found });
    expect(share?.low).toBeCloseTo(yes / n, 12);
    expect(share?.high).toBeCloseTo((yes + n - found) / n, 12);
    expect(share?.seen).toBeCloseTo(yes / found, 12);
    expect([share?.low, share?.high].map((value) => Number(value?.toFixed(2)))).toEqual(printed);
  });

  it("give 42 to 73 % for 9 met of 14.8 due, 7.4 h seen and 3.2 h possibly seated at 30 min", () => {
    // Worked example of the programme's brief (common practice, no source): reliefs due = hours over interval.
    const due = 7.4 / 0.5;
    const share = boundsOf({ met: 9, missed: due - 9, notAssessable: 3.2 / 0.5 });
    expect(Math.round((share?.seen ?? 0) * 100)).toBe(61);
    expect(Math.round((share?.low ?? 0) * 100)).toBe(42);
    expect(Math.round((share?.high ?? 0) * 100)).toBe(73);
  });

  it("say nothing when nothing was due, and everything is possible when nothing was seen", () => {
    expect(boundsOf({ met: 0, missed: 0, notAssessable: 0 })).toBeNull();
    expect(boundsOf({ met: 0, missed: 0, notAssessable: 4 })).toEqual({ low: 0, seen: null, high: 1 });
  });
});
