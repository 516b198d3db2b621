import { logBinomialTail } from "../../../server/domain/incidents/scan-statistic.ts";
import { round } from "./rows.ts";

const level = 0.95;

/** Exact interval of a share, 95 %.
 *  Source: Clopper and Pearson 1934, Biometrika 26:404 */
export function exactShare(hits: number, of: number): { readonly low: number; readonly high: number } {
  const tail = Math.log((1 - level) / 2);
  return {
    low: hits === 0 ? 0 : crossing((share) => logBinomialTail(hits, of, share) >= tail),
    high: hits === of ? 1 : 1 - crossing((missed) => logBinomialTail(of - hits, of, missed) >= tail),
  };
}

/** The least share for which it is so. */
function crossing(isSo: (share: number) => boolean): number {
  let low = 0;
  let high = 1;
  for (let halving = 0; halving < 50; halving++) {
    const middle = (low + high) / 2;
    if (isSo(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/** A share that could by chance lie on either side of a bar says so.
 *  @param per what the share is multiplied by to be in the bar's unit */
export function tooFewToTell(hits: number, of: number, bars: readonly number[], per = 1): string {
  if (of === 0) return "";
  const { low, high } = exactShare(hits, of);
  return bars.some((bar) => low * per < bar && bar < high * per)
    ? `; too few to be sure of the bar: 95 % interval ${round(low * per)} to ${round(high * per)}`
    : "";
}
