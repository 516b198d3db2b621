import { describe, expect, it } from "vitest";
import { tooFewToTell } from "../../scripts/bench/health/too-few-to-tell.ts";
import { exactShare } from "../../server/domain/statistics/exact-share.ts";
import exact from "../reference/clopper-pearson.json" with { type: "json" };

describe("the exact interval of a share", () => {
  // Source: NIST/SEMATECH e-Handbook 7.2.4.1; these rows by R's binom.test.
  it.each(exact.computed)("of $x in $n is what R gives", ({ x, n, lower, upper }) => {
    const { low, high } = exactShare(x, n, 0.95);
    expect(low).toBeCloseTo(lower, 8);
    expect(high).toBeCloseTo(upper, 8);
  });

  it("is told only where the bar lies inside it", () => {
    expect(tooFewToTell(199, 210, [0.95])).toContain("0.908 to 0.974");
    expect(tooFewToTell(150, 210, [0.95])).toBe("");
    expect(tooFewToTell(120, 120, [0.98])).toContain("0.97 to 1");
  });
});
