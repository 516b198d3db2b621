export interface CusumChart {
  /** Sums of what lies above and below the target by more than the allowance, from 0. */
  readonly high: readonly number[];
  readonly low: readonly number[];
  /** Indices at which either sum is above the limit. */
  readonly signals: readonly number[];
}

/** Tabular CUSUM: C⁺ = max(0, C⁺ + x − target − k), C⁻ likewise below.
 *  @param values oldest first; @param allowance k and @param limit h in the unit of the values
 *  Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3 */
export function cusumChart(
  values: readonly number[],
  {
    target,
    allowance,
    limit,
  }: { readonly target: number; readonly allowance: number; readonly limit: number },
): CusumChart {
  const high: number[] = [];
  const low: number[] = [];
  const signals: number[] = [];
  let above = 0;
  let below = 0;
  values.forEach((value, index) => {
    above = Math.max(0, above + value - target - allowance);
    below = Math.max(0, below + target - value - allowance);
    high.push(above);
    low.push(below);
    if (above > limit || below > limit) signals.push(index);
  });
  return { high, low, signals };
}
