import type { Span } from "../units.ts";

interface Entry {
  readonly at: number;
}

/** Those that happened within `span`. @param entries in order of time */
export const entriesWithin = <Item extends Entry>(
  entries: readonly Item[],
  { start, end }: Span,
): readonly Item[] => entries.slice(firstAtOrAfter(entries, start), firstAtOrAfter(entries, end));

/** The place of the first that happened at `moment` or after it: by halving, for a month holds 40,000 minutes. */
export function firstAtOrAfter(entries: readonly Entry[], moment: number): number {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((entries[middle]?.at ?? moment) < moment) low = middle + 1;
    else high = middle;
  }
  return low;
}
