/** Chance that a standard normal deviate is at most `z`, to within 7.5e-8.
 *  Source: Abramowitz and Stegun 1964, Handbook of Mathematical Functions, 26.2.17 */
export function normalCdf(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  const series =
    t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const upper = density * series;
  return z >= 0 ? 1 - upper : upper;
}

/** The deviate whose magnitude is exceeded with chance 1 − level: 1.645 for 0.9, 1.960 for 0.95.
 *  @param level between 0 and 1, both excluded */
export function twoSidedDeviate(level: number): number {
  let low = 0;
  let high = 8;
  for (let halving = 0; halving < 50; halving++) {
    const middle = (low + high) / 2;
    if (2 * normalCdf(middle) - 1 < level) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
