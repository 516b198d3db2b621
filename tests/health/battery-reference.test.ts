import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import { rainflow } from "../../server/domain/battery/rainflow.ts";
import { slopeThroughOrigin } from "../../server/domain/statistics/line-through-origin.ts";
import { fallsTo, predictedAt, straightLine } from "../../server/domain/statistics/straight-line.ts";
import { twoSidedStudent } from "../../server/domain/statistics/student.ts";
import nasa from "../reference/battery-nasa-capacity.json" with { type: "json" };
import cycles from "../reference/rainflow-astm-e1049.json" with { type: "json" };
import trend from "../reference/trend-and-prediction.json" with { type: "json" };

function countsByRange(series: readonly number[]) {
  const counts = new Map<number, number>();
  for (const { range, count } of rainflow(series)) counts.set(range, (counts.get(range) ?? 0) + count);
  return [...counts].map(([range, count]) => ({ range, count })).sort((a, b) => a.range - b.range);
}

describe("rainflow counting", () => {
  // Source: ASTM E1049-85, section 5.4.4, figure 6; and a second series of an open test suite.
  it.each([cycles.astmE1049, cycles.second])("gives the counts of: $source", ({ series, counts }) => {
    expect(countsByRange(series)).toEqual(counts);
  });

  // Constructed, computed by an independent three-point counter.
  it("of states of charge adds up to the equivalent full cycles moved", () => {
    const { series, equivalentFullCycles } = cycles.socExample;
    const total = rainflow(series).reduce((sum, { range, count }) => sum + range * count, 0) / 100;
    expect(total).toBeCloseTo(equivalentFullCycles.fromRainflow, 10);
  });

  it("loses nothing: ranges times counts are half of all that moved, whatever the series", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 100 }), { maxLength: 60 }), (series) => {
        const moved = series
          .slice(1)
          .reduce((sum, value, index) => sum + Math.abs(value - (series[index] ?? 0)), 0);
        const counted = rainflow(series).reduce((sum, { range, count }) => sum + range * count, 0);
        expect(counted).toBeCloseTo(moved / 2, 9);
      }),
    );
  });
});

describe("straight lines", () => {
  // Source: Kutner et al., Applied Linear Statistical Models, Toluca data; computed with R.
  it("give the textbook's fit and 90 % prediction interval", () => {
    const { x, y, fit, prediction90At100 } = trend.toluca;
    const line = straightLine(x.map((each, index) => ({ x: each, y: y[index] ?? 0 })));
    if (!line) throw new Error("no line");
    expect(line.slope).toBeCloseTo(fit.coef[1] ?? 0, 8);
    expect(line.residualVariance).toBeCloseTo(fit.mse, 6);
    const at100 = predictedAt(line, 100, 0.9);
    expect(at100.low).toBeCloseTo(prediction90At100.lwr, 4);
    expect(at100.high).toBeCloseTo(prediction90At100.upr, 4);
  });

  // Any printed table of Student's t.
  it("use Student's tabled quantiles", () => {
    expect(twoSidedStudent(0.9, 23)).toBeCloseTo(1.714, 3);
    expect(twoSidedStudent(0.95, 4)).toBeCloseTo(2.776, 3);
    expect(twoSidedStudent(0.9, 1)).toBeCloseTo(6.314, 3);
  });

  it("say where they come down to a level so that nine intervals in ten hold the truth", () => {
    const random = randomFrom("fieller");
    let covered = 0;
    for (let trial = 0; trial < 500; trial++) {
      const points = Array.from({ length: 15 }, (_, x) => ({ x, y: 1 - 0.006 * x + random.normal(0, 0.02) }));
      const line = straightLine(points);
      const falls = line && fallsTo(line, 0.8, 0.9);
      if (falls && falls.low <= 0.2 / 0.006 && falls.high >= 0.2 / 0.006) covered++;
    }
    expect(covered / 500).toBeGreaterThan(0.86);
    expect(covered / 500).toBeLessThan(0.94);
  });
});

describe("capacity, of real cells and with error in both", () => {
  // Source: NASA Ames ageing set; the fit of cycles 1 to 100 computed independently.
  it("falls along the line that was fitted elsewhere", () => {
    const line = straightLine(nasa.cells.B0005.slice(0, 100).map((y, index) => ({ x: index + 1, y })));
    expect(line?.slope).toBeCloseTo(nasa.linearFitCycles1to100.B0005[1] ?? 0, 6);
  });

  // Cycles at which a line through the first hundred comes down to 70 % of rated, computed independently, and when the
  // cells really did. The cells recover at rest, so the line is near rather than right.
  it.each([
    { name: "B0005", forecast: 130.454, truth: 125 },
    { name: "B0006", forecast: 98.878, truth: 109 },
    { name: "B0018", forecast: 96.238, truth: 97 },
  ] as const)("of $name is forecast near the cycle at which it came down", ({ name, forecast, truth }) => {
    const line = straightLine(nasa.cells[name].slice(0, 100).map((y, index) => ({ x: index + 1, y })));
    const falls = line && fallsTo(line, 0.7 * nasa.ratedAh, 0.9);
    expect(falls?.best).toBeCloseTo(forecast, 2);
    expect(Math.abs((falls?.best ?? 0) / truth - 1)).toBeLessThan(0.1);
  });

  it("is not biased by the error of the charge it is divided by, as ordinary least squares is", () => {
    const random = randomFrom("total least squares");
    const truth = 1_000;
    let weighted = 0;
    let ordinary = 0;
    for (let trial = 0; trial < 200; trial++) {
      const points = Array.from({ length: 12 }, () => {
        const depth = random.uniform(0.1, 0.3);
        return {
          x: depth + random.normal(0, 0.04),
          y: depth * truth * (1 + random.normal(0, 0.01)),
          deviationX: 0.04,
          deviationY: 0.01 * depth * truth,
        };
      });
      weighted += slopeThroughOrigin(points, [200, 3_000]).best / 200;
      const xy = points.reduce((sum, { x, y }) => sum + x * y, 0);
      ordinary += xy / points.reduce((sum, { x }) => sum + x * x, 0) / 200;
    }
    expect(Math.abs(weighted / truth - 1)).toBeLessThan(0.015);
    expect(Math.abs(ordinary / truth - 1)).toBeGreaterThan(0.025);
  });
});
