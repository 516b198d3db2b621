import type { Instant } from "../units.ts";
import { millisecondsIn } from "../units.ts";
import type { StretchKind } from "../verdicts/verdict.ts";
import type { LedgerDay } from "./minute-state.ts";
import { isUnrecorded, mayBeOnItsWay, timelineOf, touchesNow } from "./timeline.ts";

/** A stretch as the ledger shows it now, before it is matched with those listed earlier. */
export interface FoundStretch {
  readonly kind: StretchKind;
  readonly start: Instant;
  /** null: it goes on at the time of looking. */
  readonly end: Instant | null;
}

/** Every maximal stretch of loan time without a record, waiting for it or not, of at least `shortestGapMinutes`,
 *  across midnight and whatever the day's length. The newest minutes of a unit that reports in batches are no gap.
 *  @param days consecutive, oldest first, of one loan; a gap that began before them is seen from their start only */
export function findGaps(
  days: readonly LedgerDay[],
  settings: { readonly shortestGapMinutes: number },
  now: Instant,
): FoundStretch[] {
  const found: FoundStretch[] = [];
  let open: { start: Instant; end: Instant } | null = null;
  const close = (): void => {
    if (!open) return;
    const longEnough = open.end - open.start >= settings.shortestGapMinutes * millisecondsIn.minute;
    if (longEnough && !mayBeOnItsWay(open, now))
      found.push({ kind: "gap", start: open.start, end: open.end });
    open = null;
  };
  const line = timelineOf(days);
  for (const run of line) {
    if (!isUnrecorded(run.state)) close();
    else if (open) open.end = run.end;
    else open = { start: run.start, end: run.end };
  }
  close();
  return found.map((gap) =>
    gap.end !== null && touchesNow(gap.end, now) && !endsWithLoan(line, gap.end)
      ? { ...gap, end: null }
      : gap,
  );
}

const endsWithLoan = (line: readonly { state: string; start: Instant }[], end: Instant): boolean =>
  line.some((run) => run.start === end && run.state === "outside-loan");
