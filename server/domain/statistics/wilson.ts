import type { Interval } from "../units.ts";
import { twoSidedDeviate } from "./normal.ts";

/** Score interval of a share.
 *  @param share seen, 0 to 1; @param n trials, at least 1; @param level 0.9 for a 90 % interval
 *  Source: Wilson 1927, J Am Stat Assoc 22:209 */
export function wilsonInterval(share: number, n: number, level: number): Interval {
  const z = twoSidedDeviate(level);
  const centre = (share + (z * z) / (2 * n)) / (1 + (z * z) / n);
  const half = (z * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n))) / (1 + (z * z) / n);
  return { low: Math.max(0, centre - half), best: share, high: Math.min(1, centre + half), level };
}
