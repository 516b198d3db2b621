/** "11 points": of a hundred. */
export const points = (share: number): string => {
  const whole = Math.round(Math.abs(share) * 100);
  return whole === 1 ? "1 point" : `${whole} points`;
};

const end = (whole: number, unit: string): string =>
  whole === 0 ? "no change" : `${Math.abs(whole)}${unit} ${whole < 0 ? "fewer" : "more"}`;

/** "8 points fewer to 14 points more", "3 to 19 points more". */
export function betweenPoints({ low, high }: { readonly low: number; readonly high: number }): string {
  const [from, to] = [Math.round(low * 100), Math.round(high * 100)];
  if (from > 0) return `${from} to ${to} points more`;
  if (to < 0) return `${-to} to ${-from} points fewer`;
  return `${end(from, " points")} to ${end(to, " points")}`;
}

/** Stands wherever a share went down: the record tells what was seen. */
export const fewerSeen =
  "Fewer seen need not mean fewer made: what the unit can see, and each thin stretch above, has to be settled first.";
