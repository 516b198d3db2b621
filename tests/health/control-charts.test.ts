import { describe, expect, it } from "vitest";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import {
  cusumRunLength,
  ewmaRunLength,
  limitFor,
  twoSidedCusumRunLength,
} from "../../server/domain/drift/average-run-length.ts";
import { cusumChart } from "../../server/domain/drift/cusum.ts";
import { robustTrend } from "../../server/domain/statistics/robust-trend.ts";
import cusum from "../reference/cusum-nist.json" with { type: "json" };
import ewma from "../reference/ewma-run-lengths.json" with { type: "json" };
import robust from "../reference/robust-trend.json" with { type: "json" };
import trend from "../reference/trend-and-prediction.json" with { type: "json" };

describe("control charts agree with published values", () => {
  // Source: NIST/SEMATECH e-Handbook 6.3.2.3, worked example; unrounded values by R.
  it("the tabular CUSUM gives the handbook's sums, and first signals at group 14", () => {
    const chart = cusumChart(cusum.input, { target: cusum.target, allowance: cusum.k, limit: cusum.h });
    chart.high.forEach((value, index) => {
      expect(value).toBeCloseTo(cusum.expected.sHigh[index] ?? Number.NaN, 9);
    });
    chart.low.forEach((value, index) => {
      expect(value).toBeCloseTo(cusum.expected.sLow[index] ?? Number.NaN, 9);
    });
    expect(chart.signals.map((index) => index + 1)).toEqual(cusum.expected.signalGroups1Based);
  });

  // Source: R package spc, xcusum.arl; a chain of a hundred states comes within half a per cent.
  it.each(cusum.arl.table.filter(({ shift }) => shift <= 2))(
    "CUSUM run lengths at a shift of $shift are those of the table",
    ({ shift, oneSidedK05H4, twoSidedK05H5 }) => {
      expect(Math.abs(cusumRunLength(0.5, 4, shift) / oneSidedK05H4 - 1)).toBeLessThan(0.005);
      expect(Math.abs(twoSidedCusumRunLength(0.5, 5, shift) / twoSidedK05H5 - 1)).toBeLessThan(0.005);
    },
  );

  // Source: R package spc, xewma.arl.
  it.each(ewma.table)("EWMA run length at λ $lambda and a shift of $shift is that of the table", (row) => {
    expect(Math.abs(ewmaRunLength(row.lambda, row.L, row.shift) / row.arl - 1)).toBeLessThan(0.01);
  });

  it("a limit found for a budget meets it on random data", () => {
    const limit = limitFor(100, (h) => twoSidedCusumRunLength(0.5, h, 0), [1, 8]);
    const random = randomFrom("run length");
    const runs = Array.from({ length: 400 }, () => {
      let high = 0;
      let low = 0;
      for (let point = 1; ; point++) {
        const value = random.normal(0, 1);
        high = Math.max(0, high + value - 0.5);
        low = Math.max(0, low - value - 0.5);
        if (high > limit || low > limit) return point;
      }
    });
    const mean = runs.reduce((sum, run) => sum + run, 0) / runs.length;
    expect(Math.abs(mean - 100)).toBeLessThan(15);
  });
});

describe("the robust trend agrees with published values", () => {
  // Source: EPA QA/G-9S, Mann-Kendall with ties, p. 109.
  it("with ties gives the printed sum, variance and slope", () => {
    const { input, expected } = trend.mannKendallTies;
    const found = robustTrend(
      input.map((y, x) => ({ x, y })),
      0.9,
    );
    expect(found?.signs).toBe(expected.S);
    expect(found?.variance).toBeCloseTo(expected.varS, 9);
    expect(found?.slope.best).toBeCloseTo(expected.sen, 9);
  });

  // Source: R datasets::Nile, slope by R and scipy.
  it("of the Nile falls, and its interval excludes a steady river", () => {
    const found = robustTrend(
      robust.nile.flow.map((y, x) => ({ x, y })),
      0.9,
    );
    expect(found?.slope.best).toBeCloseTo(robust.nile.slope, 9);
    expect(found?.slope.high).toBeLessThan(0);
  });

  it("covers a true slope nine times in ten", () => {
    const random = randomFrom("sen interval");
    let covered = 0;
    for (let trial = 0; trial < 400; trial++) {
      const points = Array.from({ length: 20 }, (_, x) => ({ x, y: 0.3 * x + random.normal(0, 1) }));
      const slope = robustTrend(points, 0.9)?.slope;
      if (slope && slope.low <= 0.3 && slope.high >= 0.3) covered++;
    }
    expect(covered / 400).toBeGreaterThan(0.86);
    expect(covered / 400).toBeLessThan(0.94);
  });
});
