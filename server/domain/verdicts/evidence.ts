import type { Cause } from "./causes.ts";
import type { Observation } from "./observation.ts";
import { posterior } from "./posterior.ts";
import type { EvidenceLine, Side } from "./verdict.ts";

/** Clues that move the odds by less than this are left out of the list: they say nothing either way. */
const worthSaying = 0.5;

/** Evidence lines, weightiest first, from the very terms that make the posterior: what the odds on the leading side
 *  are with all clues, over what they would be without this one, in decibans (10 log10; Good 1979, Biometrika 66:393).
 *  Identical to the likelihood ratio of the clue between that side and the rest, each side's causes weighed by what
 *  the other clues leave of them. */
export function evidenceFor(
  side: Side,
  causes: readonly Cause[],
  priors: readonly number[],
  observations: readonly Observation[],
  likelihoods: readonly (readonly number[])[],
): EvidenceLine[] {
  const odds = (rows: readonly (readonly number[])[]) => oddsOn(side, causes, posterior(priors, rows));
  const withAll = odds(likelihoods);
  return observations
    .map(({ clue, sentence }, index) => {
      const without = odds(likelihoods.filter((_, other) => other !== index));
      return { clue, sentence, weight: 10 * Math.log10(withAll / without) };
    })
    .filter(({ weight }) => Math.abs(weight) >= worthSaying)
    .sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight) || (a.clue < b.clue ? -1 : 1));
}

function oddsOn(side: Side, causes: readonly Cause[], shares: readonly number[]): number {
  // Both sums are taken directly: 1 - p would lose the last digits of a near certainty.
  let on = 0;
  let against = 0;
  causes.forEach((cause, index) => {
    if (cause.side === side) on += shares[index] ?? 0;
    else against += shares[index] ?? 0;
  });
  return on / against;
}
