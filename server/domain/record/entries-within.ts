import type { Span } from "../units.ts";

interface Entry {
  readonly at: number;
}

/** Those that happened within `span`. @param entries in order of time */
export const entriesWithin = <Item extends Entry>(
  entries: readonly Item[],
  { start, end }: Span,
): readonly Item[] => entries.slice(firstAtOrAfter(entries, start), firstAtOrAfter(entries, end));

/** The place of the first that happened at `moment` or after it. */
export const firstAtOrAfter = (entries: readonly Entry[], moment: number): number =>
  firstFrom(entries.length, (place) => entries[place]?.at ?? moment, moment);

/** The same of minutes as columns. */
export const firstMinuteFrom = (at: Float64Array, moment: number): number =>
  firstFrom(at.length, (place) => at[place] ?? moment, moment);

/** By halving: a month holds 40,000 minutes. */
export function firstFrom(count: number, at: (place: number) => number, moment: number): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (at(middle) < moment) low = middle + 1;
    else high = middle;
  }
  return low;
}
