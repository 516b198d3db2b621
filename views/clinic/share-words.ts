interface Share {
  readonly low: number;
  readonly seen: number | null;
  readonly high: number;
}

/** The share of due reliefs that were met: what it can be, and what was seen of it. null: none was due. */
export function shareWords(share: Share | null): string {
  if (share === null) return "none due";
  const { low, seen, high } = share;
  // Nothing went unseen, so that there is no span to tell.
  if (low === high) return whole(low);
  return `${whole(low)} to ${whole(high)}${seen === null ? "" : `; of those seen, ${whole(seen)}`}`;
}

const whole = (share: number): string => `${Math.round(share * 100)}\u00a0%`;
