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

export const shareOf = <Item>(items: readonly Item[], is: (item: Item) => boolean): number =>
  items.length === 0 ? 0 : items.filter(is).length / items.length;
