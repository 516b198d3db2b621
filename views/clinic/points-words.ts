/** "11 points": of a hundred. */
export const points = (share: number): string => {
  const whole = Math.round(Math.abs(share) * 100);
  return whole === 1 ? "1 point" : `${whole} points`;
};

const signed = (share: number): string => {
  const whole = Math.round(share * 100);
  return whole === 0 ? "none" : `${Math.abs(whole)} ${whole < 0 ? "fewer" : "more"}`;
};

/** "8 fewer to 14 more points", "3 to 19 points more". */
export function betweenPoints({ low, high }: { readonly low: number; readonly high: number }): string {
  const [from, to] = [Math.round(low * 100), Math.round(high * 100)];
  if (from > 0) return `${from} to ${to} points more`;
  if (to < 0) return `${-to} to ${-from} points fewer`;
  return `${signed(low)} to ${signed(high)}, in points`;
}
