import { incompleteBeta } from "./incomplete-beta.ts";

/** Chance that |t| exceeds `t` with `df` degrees of freedom, by the regularised incomplete beta function.
 *  Source: Abramowitz and Stegun 1964, 26.7.1 and 26.5.8 (continued fraction) */
function twoSidedTail(t: number, df: number): number {
  return incompleteBeta(df / (df + t * t), df / 2, 0.5);
}

/** The t that |t| stays below with chance `level`: 1.714 for 0.9 and 23 degrees of freedom. */
export function twoSidedStudent(level: number, df: number): number {
  let low = 0;
  let high = 1_000;
  for (let halving = 0; halving < 60; halving++) {
    const middle = (low + high) / 2;
    if (twoSidedTail(middle, df) > 1 - level) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
