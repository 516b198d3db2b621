import type { Interval } from "../units.ts";
import { wilsonInterval } from "./wilson.ts";

export interface Share {
  readonly share: number;
  /** Trials it rests on; may be fewer than were counted where those go together, and then broken. */
  readonly trials: number;
}

/** Interval of the difference of two independent shares, first less second: the score intervals of both, combined.
 *  Source: Newcombe 1998, Statistics in Medicine 17:873, method 10 */
export function shareDifference(first: Share, second: Share, level: number): Interval {
  const one = wilsonInterval(first.share, first.trials, level);
  const other = wilsonInterval(second.share, second.trials, level);
  const best = first.share - second.share;
  return {
    low: best - Math.hypot(first.share - one.low, other.high - second.share),
    best,
    high: best + Math.hypot(one.high - first.share, second.share - other.low),
    level,
  };
}

/** A share of trials that come in clusters (the reliefs of one day), with how many independent trials it is worth: their
 *  number over the design effect, which is that of the ratio estimator and never below 1.
 *  @param clusters each with how many trials, and how many of them were so; at least one trial in all
 *  Source: Cochran 1977, Sampling Techniques, 2.11 and 9A.1 (variance of a ratio); design effect as in Kish 1965 */
export function clusteredShare(
  clusters: readonly { readonly yes: number; readonly trials: number }[],
): Share {
  const some = clusters.filter(({ trials }) => trials > 0);
  const all = some.reduce((sum, { trials }) => sum + trials, 0);
  const share = some.reduce((sum, { yes }) => sum + yes, 0) / all;
  const squares = some.reduce((sum, { yes, trials }) => sum + (yes - share * trials) ** 2, 0);
  const independent = share * (1 - share) * all;
  if (some.length < 2 || independent === 0) return { share, trials: all };
  const effect = (squares * some.length) / (some.length - 1) / independent;
  return { share, trials: all / Math.max(1, effect) };
}
