/** Two-sided EWMA chart: z_t = λ x_t + (1 − λ) z_{t−1}, z_0 = target; limits target ± L σ √(λ / (2 − λ)).
 *  @param values oldest first
 *  @returns the smoothed values, the steady-state limits and the index of the first value outside them
 *  Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4 */
export function ewmaChart(
  values: readonly number[],
  options: {
    readonly target: number;
    readonly sigma: number;
    readonly lambda: number;
    readonly width: number;
  },
): EwmaChart {
  const half = options.width * options.sigma * Math.sqrt(options.lambda / (2 - options.lambda));
  const smoothed: number[] = [];
  let z = options.target;
  for (const value of values) {
    z = options.lambda * value + (1 - options.lambda) * z;
    smoothed.push(z);
  }
  const lower = options.target - half;
  const upper = options.target + half;
  const crossing = smoothed.findIndex((point) => point < lower || point > upper);
  return { smoothed, centre: options.target, lower, upper, firstCrossing: crossing === -1 ? null : crossing };
}

export interface EwmaChart {
  readonly smoothed: readonly number[];
  readonly centre: number;
  readonly lower: number;
  readonly upper: number;
  readonly firstCrossing: number | null;
}
