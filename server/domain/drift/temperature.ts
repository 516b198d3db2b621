/** Of one day's readings: the sum of products of how far warmth and level each were off the day's mean, and the sum of
 *  squares of the warmth's. */
export interface WarmDay {
  readonly together: number;
  readonly spread: number;
}

/** Squared degrees of spread below which a slope isn't believed: it is drawn towards none. Assumption. */
const leastSpread = 20;

/** Change of level a degree, from differences within days only, so that neither a season nor a drift is taken for
 *  warmth (the within estimator of any regression textbook), drawn towards zero where a day hardly warms. */
export function slopePerDegree(days: readonly WarmDay[]): number {
  let together = 0;
  let spread = leastSpread;
  for (const day of days) {
    together += day.together;
    spread += day.spread;
  }
  return together / spread;
}
