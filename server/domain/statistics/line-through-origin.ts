import type { Interval } from "../units.ts";

export interface DoubtfulPoint {
  readonly x: number;
  readonly y: number;
  /** One standard deviation of each. */
  readonly deviationX: number;
  readonly deviationY: number;
}

/** Slope of y = slope · x where both are measured with error: the minimum over the slope of
 *  Σ (y − slope·x)² / (slope²·σx² + σy²), as in Plett 2011, "Recursive approximate weighted total least squares estimation
 *  of battery cell total capacity", J Power Sources 196:2319. Ordinary least squares would come out too small.
 *  @param points at least one, x > 0 and y > 0 on the whole
 *  @param between where the slope can lie */
export function slopeThroughOrigin(
  points: readonly DoubtfulPoint[],
  [low, high]: readonly [number, number],
): Interval {
  const misfit = (slope: number): number =>
    points.reduce(
      (sum, { x, y, deviationX, deviationY }) =>
        sum + (y - slope * x) ** 2 / (slope ** 2 * deviationX ** 2 + deviationY ** 2),
      0,
    );
  const best = leastBetween(misfit, low, high);
  const step = best * 1e-3;
  const curvature = (misfit(best + step) - 2 * misfit(best) + misfit(best - step)) / step ** 2;
  // Twice the inverse curvature of chi-squared is a variance; points that scatter more than they claim widen it.
  const scatter = points.length > 1 ? Math.max(1, misfit(best) / (points.length - 1)) : 1;
  const half = curvature > 0 ? 1.645 * Math.sqrt((2 / curvature) * scatter) : high - low;
  return { low: Math.max(0, best - half), best, high: best + half, level: 0.9 };
}

/** Golden section search of a function with one minimum (Kiefer 1953, Proc Am Math Soc 4:502). */
function leastBetween(of: (value: number) => number, low: number, high: number): number {
  const golden = (Math.sqrt(5) - 1) / 2;
  let from = low;
  let to = high;
  for (let step = 0; step < 60; step++) {
    const left = to - golden * (to - from);
    const right = from + golden * (to - from);
    if (of(left) < of(right)) to = right;
    else from = left;
  }
  return (from + to) / 2;
}
