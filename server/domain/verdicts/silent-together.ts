import { type Hours, hours, type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import type { GapContext } from "./gap-context.ts";

/** Silences that begin within this of each other began together: units report in batches. Assumption. */
export const togetherWithin = 20 * millisecondsIn.minute;

export interface OtherUnit {
  /** Lent in the same area. */
  readonly near?: boolean;
  /** Gaps of it that overlap the one asked about; `end` null: goes on. */
  readonly gaps: readonly { readonly start: Instant; readonly end: Instant | null }[];
  /** End of its newest record, where the gap asked about still goes on. */
  readonly lastRecorded: Instant | null;
}

/** How many other units fell silent with this one, of those that were recording until then. A unit that had been
 *  silent for longer says nothing of this moment and is left out.
 *  @param recording how many more were recording all the while, and how many of them near: a fleet is not listed */
export function silentTogether(
  gap: Span,
  ongoing: boolean,
  others: readonly OtherUnit[],
  recording: { readonly others: number; readonly near: number } = { others: 0, near: 0 },
): GapContext["together"] {
  let silent = 0;
  let counted = recording.others;
  const near = { silent: 0, others: recording.near };
  const back: Instant[] = [];
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
    const endsOfThose = other.gaps.flatMap(({ start, end }) =>
      Math.abs(start - gap.start) <= togetherWithin && end !== null ? [end] : [],
    );
    const counts = withIt || !(already || longSilent);
    if (withIt) silent += 1;
    if (withIt && other.near) near.silent += 1;
    if (counts && other.near) near.others += 1;
    if (withIt && endsOfThose.length > 0) back.push(instant(Math.max(...endsOfThose)));
    if (counts) counted += 1;
  }
  return counted === 0 ? null : { silent, others: counted, near, backFor: backFor(back, silent, gap.end) };
}

/** As the end of an incident is told: when four of five were back (watch-fleet). */
const mostBack = 0.8;

function backFor(back: readonly Instant[], silent: number, until: Instant): Hours | null {
  const needed = Math.ceil(mostBack * silent);
  const at = [...back].sort((a, b) => a - b)[needed - 1];
  return at === undefined || needed === 0 || at > until ? null : hours((until - at) / millisecondsIn.hour);
}
