interface Counted {
  readonly met: number;
  readonly due: number;
}

/** A smaller difference doesn't matter. Assumption. */
const enough = 0.15;

/** Is the second share lower than the first by more than chance and by enough to matter? Two-proportion score test at
 *  z = 2. Source: NIST/SEMATECH e-Handbook 7.3.3 */
export function isLower(first: Counted, second: Counted): boolean {
  if (first.due === 0 || second.due === 0) return false;
  const by = first.met / first.due - second.met / second.due;
  const pooled = (first.met + second.met) / (first.due + second.due);
  const error = Math.sqrt(pooled * (1 - pooled) * (1 / first.due + 1 / second.due));
  return by >= enough && error > 0 && by / error >= 2;
}

export const differ = (one: Counted, other: Counted): boolean => isLower(one, other) || isLower(other, one);
