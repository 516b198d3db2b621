/** Check character by the pure-system formula of ISO/IEC 7064: with weights radix^0 for the check character,
 *  radix^1 for its left neighbour and so on, the weighted sum of all values is 1 modulo `modulus`.
 *  The standard's own pairs are 11-2, 37-2 and 97-10. The formula catches every single wrong character when the
 *  modulus is a prime above the highest value, and every exchange of two characters closer together than the order of
 *  the radix. */
export interface CheckSystem {
  readonly modulus: number;
  readonly radix: number;
}

/** @param values the characters' values, leftmost first, without the check character
 *  @returns the value of the check character */
export function checkValue(values: readonly number[], system: CheckSystem): number {
  let sum = 0;
  for (const value of values) sum = ((sum + value) * system.radix) % system.modulus;
  return (system.modulus + 1 - sum) % system.modulus;
}

/** @param values the characters' values with the check character last */
export function checksOut(values: readonly number[], system: CheckSystem): boolean {
  const check = values.at(-1);
  return check !== undefined && checkValue(values.slice(0, -1), system) === check;
}
