import type { Interval } from "../units.ts";
import { incompleteBeta } from "./incomplete-beta.ts";

/** Exact interval of a share: the shares that would give so many, or so few, with at least half of what is left out.
 *  @param yes of `trials` independent trials, at least 1; @param level 0.9 for a 90 % interval
 *  Source: Clopper and Pearson 1934, Biometrika 26:404 */
export function exactShare(yes: number, trials: number, level: number): Interval {
  const tail = (1 - level) / 2;
  return {
    low: yes === 0 ? 0 : shareAt(tail, yes, trials - yes + 1),
    best: yes / trials,
    high: yes === trials ? 1 : shareAt(1 - tail, yes + 1, trials - yes),
    level,
  };
}

/** Quantile of the beta distribution, by halving: it only rises. */
function shareAt(chance: number, a: number, b: number): number {
  let low = 0;
  let high = 1;
  for (let halving = 0; halving < 60; halving++) {
    const middle = (low + high) / 2;
    if (incompleteBeta(middle, a, b) < chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
