import type { Interval } from "../units.ts";
import { median } from "./median.ts";
import { twoSidedDeviate } from "./normal.ts";

export interface RobustTrend {
  readonly slope: Interval;
  /** Of the line through the medians, at x = 0. */
  readonly intercept: number;
  /** Mann and Kendall's sum of signs, and its variance with ties. */
  readonly signs: number;
  readonly variance: number;
}

/** Median of all pairwise slopes, with the interval that the Mann-Kendall statistic gives it.
 *  @param points ordered by x, x different; @param level 0.9 for a 90 % interval
 *  @returns null of fewer than four points
 *  Source: Sen 1968, J Am Stat Assoc 63:1379; variance with ties as in EPA QA/G-9S (2006), 4.3.4 */
export function robustTrend(
  points: readonly { readonly x: number; readonly y: number }[],
  level: number,
): RobustTrend | null {
  if (points.length < 4) return null;
  const slopes: number[] = [];
  let signs = 0;
  points.forEach((from, index) => {
    for (let next = index + 1; next < points.length; next++) {
      const to = points[next];
      if (!to) continue;
      slopes.push((to.y - from.y) / (to.x - from.x));
      signs += Math.sign(to.y - from.y);
    }
  });
  slopes.sort((a, b) => a - b);
  const variance = signVariance(points.map(({ y }) => y));
  const half = twoSidedDeviate(level) * Math.sqrt(variance);
  // The M1-th and the (M2 + 1)-th slope of Gilbert 1987, section 16.5.
  const at = (rank: number): number =>
    slopes[Math.min(slopes.length - 1, Math.max(0, Math.round(rank)))] ?? 0;
  const best = median(slopes) ?? 0;
  return {
    slope: {
      low: at((slopes.length - half) / 2 - 1),
      best,
      high: at((slopes.length + half) / 2),
      level,
    },
    intercept: median(points.map(({ x, y }) => y - best * x)) ?? 0,
    signs,
    variance,
  };
}

function signVariance(values: readonly number[]): number {
  const n = values.length;
  const groups = new Map<number, number>();
  for (const value of values) groups.set(value, (groups.get(value) ?? 0) + 1);
  const term = (size: number): number => size * (size - 1) * (2 * size + 5);
  let ties = 0;
  for (const size of groups.values()) ties += term(size);
  return (term(n) - ties) / 18;
}
