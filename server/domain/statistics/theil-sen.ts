import { median } from "./median.ts";

/** Slope of a robust line: the median of the slopes between all pairs of points.
 *  @param points at least two different `x`; pairs of the same `x` are passed over
 *  @returns 0 where no pair tells a slope
 *  Source: Theil 1950; Sen 1968, J Am Stat Assoc 63:1379 */
export function theilSenSlope(points: readonly { readonly x: number; readonly y: number }[]): number {
  const slopes = points.flatMap((from, index) =>
    points.slice(index + 1).flatMap((to) => (to.x === from.x ? [] : [(to.y - from.y) / (to.x - from.x)])),
  );
  return median(slopes) ?? 0;
}
