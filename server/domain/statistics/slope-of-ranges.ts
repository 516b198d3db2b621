import { twoSidedDeviate } from "./normal.ts";

export interface RangePoint {
  readonly x: number;
  readonly low: number;
  readonly high: number;
}

/** Interval of the median slope between all pairs of points, each of which is only known to lie within a range: it holds
 *  wherever they lie. The slope of a pair is at least its least possible one, so the k-th smallest slope is at least the
 *  k-th smallest of the least possible ones; and so for the greatest. Of points known exactly it is Sen's interval.
 *  @param points ordered by x, x different, at least two
 *  @param alike how many times greater the variance is than of days that have nothing to do with one another
 *  Source: Sen 1968, J Am Stat Assoc 63:1379, without the gain from ties; ranks as in Gilbert 1987, section 16.5 */
export function slopeOfRanges(
  points: readonly RangePoint[],
  level: number,
  alike: number,
): { readonly low: number; readonly high: number } {
  const least: number[] = [];
  const greatest: number[] = [];
  points.forEach((from, index) => {
    for (const to of points.slice(index + 1)) {
      least.push((to.low - from.high) / (to.x - from.x));
      greatest.push((to.high - from.low) / (to.x - from.x));
    }
  });
  const n = points.length;
  const half = twoSidedDeviate(level) * Math.sqrt((alike * n * (n - 1) * (2 * n + 5)) / 18);
  return {
    low: ranked(least, (least.length - half) / 2 - 1),
    high: ranked(greatest, (greatest.length + half) / 2),
  };
}

function ranked(values: readonly number[], rank: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(rank)))] ?? 0;
}

/** How many times greater a variance is where each value goes with the one before: (1 + r) / (1 - r), r the correlation
 *  of neighbours, taken as none where it is negative.
 *  Source: effective number of observations, Bayley and Hammersley 1946, Suppl J R Stat Soc 8:184 (from memory) */
export function alikeNeighbours(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  if (squares === 0) return 1;
  const products = values
    .slice(1)
    .reduce((sum, value, index) => sum + (value - mean) * ((values[index] ?? mean) - mean), 0);
  const r = Math.min(0.9, Math.max(0, products / squares));
  return (1 + r) / (1 - r);
}
