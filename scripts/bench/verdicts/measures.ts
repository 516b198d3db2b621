/** One judged case, sides as numbers. */
export interface Scored {
  readonly shares: readonly number[];
  readonly truth: number;
}

/** Mean over cases of the sum over sides of (share - truth)^2.
 *  Source: Brier 1950, Monthly Weather Review 78:1 (the original score, 0 to 2). */
export function brierScore(cases: readonly Scored[]): number {
  const total = cases.reduce(
    (sum, { shares, truth }) =>
      sum + shares.reduce((part, share, side) => part + (share - (side === truth ? 1 : 0)) ** 2, 0),
    0,
  );
  return total / cases.length;
}

/** Expected calibration error of the winning side: ten equal bands of its probability, the absolute difference of
 *  mean probability and share right, weighed by how many fall in the band (common practice, no source). */
export function calibrationError(cases: readonly Scored[]): number {
  const bands = Array.from({ length: 10 }, () => ({ count: 0, certain: 0, right: 0 }));
  for (const { shares, truth } of cases) {
    const highest = Math.max(...shares);
    const band = bands[Math.min(9, Math.floor(highest * 10))];
    if (!band) continue;
    band.count += 1;
    band.certain += highest;
    if (shares.indexOf(highest) === truth) band.right += 1;
  }
  return bands.reduce((sum, { certain, right }) => sum + Math.abs(certain - right), 0) / cases.length;
}

export interface BrierParts {
  readonly reliability: number;
  readonly resolution: number;
  readonly uncertainty: number;
}

/** The parts of the Brier score of a yes-or-no forecast, by bands of equal width: score = reliability - resolution +
 *  uncertainty, exactly so where all forecasts of a band are the same.
 *  Source: Murphy 1973, Journal of Applied Meteorology 12:595 */
export function brierParts(
  forecasts: readonly { readonly probability: number; readonly happened: boolean }[],
  bands: number,
): BrierParts {
  const counts = Array.from({ length: bands }, () => ({ count: 0, certain: 0, happened: 0 }));
  for (const { probability, happened } of forecasts) {
    const band = counts[Math.min(bands - 1, Math.floor(probability * bands + 1e-9))];
    if (!band) continue;
    band.count += 1;
    band.certain += probability;
    if (happened) band.happened += 1;
  }
  const all = forecasts.length;
  const base = counts.reduce((sum, { happened }) => sum + happened, 0) / all;
  const filled = counts.filter(({ count }) => count > 0);
  const weighed = (of: (mean: number, share: number) => number) =>
    filled.reduce(
      (sum, { count, certain, happened }) => sum + count * of(certain / count, happened / count),
      0,
    ) / all;
  return {
    reliability: weighed((mean, share) => (mean - share) ** 2),
    resolution: weighed((_, share) => (share - base) ** 2),
    uncertainty: base * (1 - base),
  };
}

export const shareOf = <Item>(items: readonly Item[], is: (item: Item) => boolean): number =>
  items.length === 0 ? 0 : items.filter(is).length / items.length;

export const percent = <Item>(items: readonly Item[], is: (item: Item) => boolean): number =>
  100 * shareOf(items, is);
