import type { Interval } from "../units.ts";

export interface SignedRank {
  /** Pairs that differ; those that don't say nothing of a direction. */
  readonly differing: number;
  /** Sum of the ranks of those that rose; tied sizes share the mean of their ranks. */
  readonly rising: number;
  /** Chance of a sum as far from its middle or further, were rise and fall as likely: exact, ties and all. */
  readonly chance: number;
  /** Median of the means of all pairs of differences, in their unit. */
  readonly shift: Interval;
}

/** Paired comparison that no single unit can sway.
 *  @param differences after less before, one a pair, at most some hundreds
 *  @returns null of none
 *  Source: Wilcoxon 1945, Biometrics Bulletin 1:80; estimate and interval of Hodges and Lehmann as in Hollander and Wolfe
 *  1999, Nonparametric Statistical Methods, 3.1 to 3.3 */
export function signedRank(differences: readonly number[], level: number): SignedRank | null {
  if (differences.length === 0) return null;
  const ranked = doubledRanks(differences.filter((difference) => difference !== 0));
  const rising = ranked.reduce((sum, { rank, rises }) => sum + (rises ? rank : 0), 0);
  const ways = waysToSum(ranked.map(({ rank }) => rank));
  return {
    differing: ranked.length,
    rising: rising / 2,
    chance: Math.min(1, 2 * Math.min(atMost(ways, rising), 1 - atMost(ways, rising - 1))),
    shift: shiftOf(differences, level),
  };
}

interface Ranked {
  /** Twice the rank, so that a shared one is whole too. */
  readonly rank: number;
  readonly rises: boolean;
}

function doubledRanks(differences: readonly number[]): Ranked[] {
  const sorted = differences.toSorted((a, b) => Math.abs(a) - Math.abs(b));
  const sizes = sorted.map(Math.abs);
  return sorted.map((difference) => {
    const size = Math.abs(difference);
    return { rank: sizes.indexOf(size) + 1 + sizes.lastIndexOf(size) + 1, rises: difference > 0 };
  });
}

/** The chance of each sum of a random half of the ranks. */
function waysToSum(ranks: readonly number[]): Float64Array {
  const ways = new Float64Array(ranks.reduce((sum, rank) => sum + rank, 0) + 1);
  ways[0] = 1;
  let reached = 0;
  for (const rank of ranks) {
    reached += rank;
    for (let sum = reached; sum >= 0; sum--)
      ways[sum] = ((ways[sum] ?? 0) + (sum >= rank ? (ways[sum - rank] ?? 0) : 0)) / 2;
  }
  return ways;
}

const atMost = (ways: Float64Array, most: number): number =>
  ways.slice(0, Math.max(0, most + 1)).reduce((sum, each) => sum + each, 0);

function shiftOf(differences: readonly number[], level: number): Interval {
  const means = differences
    .flatMap((one, index) => differences.slice(index).map((other) => (one + other) / 2))
    .sort((a, b) => a - b);
  const ways = waysToSum(differences.map((_, index) => index + 1));
  let outside = 0;
  while (atMost(ways, outside) <= (1 - level) / 2) outside++;
  // So few pairs allow no interval of this level: then it is all that was seen.
  const from = Math.max(0, outside - 1);
  const upper = means[Math.floor(means.length / 2)] ?? 0;
  const lower = means[Math.ceil(means.length / 2) - 1] ?? 0;
  return {
    low: means[from] ?? 0,
    best: (lower + upper) / 2,
    high: means[means.length - 1 - from] ?? 0,
    level,
  };
}
