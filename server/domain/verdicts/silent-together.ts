import type { Instant, Span } from "../units.ts";
import { millisecondsIn } from "../units.ts";
import type { GapContext } from "./gap-context.ts";

/** Silences that begin within this of each other began together: units report in batches. Assumption. */
export const togetherWithin = 20 * millisecondsIn.minute;

export interface OtherUnit {
  /** Gaps of it that overlap the one asked about; `end` null: goes on. */
  readonly gaps: readonly { readonly start: Instant; readonly end: Instant | null }[];
  /** End of its newest record, where the gap asked about still goes on. */
  readonly lastRecorded: Instant | null;
}

/** How many other units fell silent with this one, of those that were recording until then. A unit that had been
 *  silent for longer says nothing of this moment and is left out. */
export function silentTogether(
  gap: Span,
  ongoing: boolean,
  others: readonly OtherUnit[],
): GapContext["together"] {
  let silent = 0;
  let counted = 0;
  for (const other of others) {
    const stopped = [
      ...other.gaps.map(({ start }) => start),
      ...(ongoing && other.lastRecorded !== null ? [other.lastRecorded] : []),
    ];
    const already = other.gaps.some(
      ({ start, end }) => start < gap.start - togetherWithin && (end === null || end > gap.start),
    );
    const longSilent =
      ongoing && other.lastRecorded !== null && other.lastRecorded < gap.start - togetherWithin;
    const withIt = stopped.some((at) => Math.abs(at - gap.start) <= togetherWithin);
    if (withIt) silent += 1;
    if (withIt || !(already || longSilent)) counted += 1;
  }
  return counted === 0 ? null : { silent, others: counted };
}
