import { exactShare } from "../../../server/domain/statistics/exact-share.ts";
import { round } from "./rows.ts";

/** A share that could by chance lie on either side of a bar says so.
 *  @param per what the share is multiplied by to be in the bar's unit */
export function tooFewToTell(hits: number, of: number, bars: readonly number[], per = 1): string {
  if (of === 0) return "";
  const { low, high } = exactShare(hits, of, 0.95);
  return bars.some((bar) => low * per < bar && bar < high * per)
    ? `; too few to be sure of the bar: 95 % interval ${round(low * per)} to ${round(high * per)}`
    : "";
}
