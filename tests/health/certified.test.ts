import { describe, expect, it } from "vitest";
import { incompleteBeta } from "../../server/domain/statistics/incomplete-beta.ts";
import { slopeThroughOrigin } from "../../server/domain/statistics/line-through-origin.ts";
import { normalCdf } from "../../server/domain/statistics/normal.ts";
import { robustTrend } from "../../server/domain/statistics/robust-trend.ts";
import { solveLinear } from "../../server/domain/statistics/solve-linear.ts";
import { straightLine } from "../../server/domain/statistics/straight-line.ts";
import { twoSidedStudent } from "../../server/domain/statistics/student.ts";
import { theilSenSlope } from "../../server/domain/statistics/theil-sen.ts";
import { wilsonInterval } from "../../server/domain/statistics/wilson.ts";
import strd from "../reference/nist-strd-regression.json" with { type: "json" };
import scipy from "../reference/scipy-values.json" with { type: "json" };

const relative = (found: number | undefined, certified: number | undefined): number =>
  Math.abs((found ?? Number.NaN) / (certified ?? Number.NaN) - 1);

// Source: NIST Statistical Reference Datasets, linear regression, certified values.
describe("regressions that NIST certifies", () => {
  it("give Norris’s line to ten digits, and what is left over", () => {
    const line = straightLine(strd.Norris.data.map(([y = 0, x = 0]) => ({ x, y })));
    const { coef, se, residualSD } = strd.Norris.certified;
    expect(relative(line?.intercept, coef[0])).toBeLessThan(1e-9);
    expect(relative(line?.slope, coef[1])).toBeLessThan(1e-12);
    expect(relative(Math.sqrt(line?.residualVariance ?? 0), residualSD)).toBeLessThan(1e-10);
    expect(relative(Math.sqrt((line?.residualVariance ?? 0) / (line?.squaresX ?? 0)), se[1])).toBeLessThan(
      1e-10,
    );
  });

  it.each(["NoInt1", "NoInt2"] as const)("give the slope of %s through the origin, and its doubt", (name) => {
    const { data, certified } = strd[name];
    const [slope = 0] = certified.coef;
    const points = data.map(([y = 0, x = 0]) => ({ x, y, deviationX: 0, deviationY: certified.residualSD }));
    const found = slopeThroughOrigin(points, [0.2 * slope, 3 * slope]);
    expect(relative(found.best, slope)).toBeLessThan(1e-6);
    // Its 90 % interval is that of the normal distribution: 1.645 certified standard errors to either side.
    expect(relative((found.high - found.low) / 2, 1.645 * (certified.se[0] ?? 0))).toBeLessThan(1e-3);
  });

  it("are solved for Longley’s six collinear columns, each less its mean and over its spread", () => {
    const { data, certified } = strd.Longley;
    const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
    const columns = [0, 1, 2, 3, 4, 5, 6].map((place) => data.map((row) => row[place] ?? 0));
    const means = columns.map(mean);
    const centred = columns.map((values, place) => values.map((value) => value - (means[place] ?? 0)));
    const spreads = centred.map((values) => Math.sqrt(mean(values.map((value) => value * value))));
    const scaled = centred.map((values, place) => values.map((value) => value / (spreads[place] ?? 1)));
    const dot = (a: readonly number[] = [], b: readonly number[] = []) =>
      a.reduce((sum, value, index) => sum + value * (b[index] ?? 0), 0);
    const [y, ...x] = scaled;
    const solved = solveLinear(
      x.map((row) => x.map((column) => dot(row, column))),
      x.map((row) => dot(row, y)),
    ).map((each, place) => (each * (spreads[0] ?? 1)) / (spreads[place + 1] ?? 1));
    solved.forEach((each, place) => {
      expect(relative(each, certified.coef[place + 1])).toBeLessThan(1e-8);
    });
    const intercept = (means[0] ?? 0) - dot(solved, means.slice(1));
    expect(relative(intercept, certified.coef[0])).toBeLessThan(1e-8);
  });
});

// Source: scipy 1.17.1; tests/reference/scipy-values.py makes them again.
describe("another implementation gives the same", () => {
  it("quantiles of Student’s t, incomplete beta function and normal distribution", () => {
    for (const { level, df, t } of scipy.studentTwoSided)
      expect(relative(twoSidedStudent(level, df), t)).toBeLessThan(1e-8);
    for (const { x, a, b, value } of scipy.incompleteBeta)
      expect(incompleteBeta(x, a, b)).toBeCloseTo(value, 10);
    // The series used is good to 7.5e-8.
    for (const { z, value } of scipy.normalCdf) expect(Math.abs(normalCdf(z) - value)).toBeLessThan(7.5e-8);
  });

  it("robust slopes and score intervals", () => {
    for (const { y, slope } of scipy.theilSen) {
      const points = y.map((each, x) => ({ x, y: each }));
      expect(theilSenSlope(points)).toBeCloseTo(slope, 10);
      expect(robustTrend(points, 0.9)?.slope.best).toBeCloseTo(slope, 10);
    }
    for (const { x, n, level, low, high } of scipy.wilson) {
      const interval = wilsonInterval(x / n, n, level);
      expect(interval.low).toBeCloseTo(low, 6);
      expect(interval.high).toBeCloseTo(high, 6);
    }
  });
});
