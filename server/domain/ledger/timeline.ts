import { type Instant, millisecondsIn, type Span } from "../units.ts";
import { gapStates, type LedgerDay, type LedgerRun, type MinuteState } from "./minute-state.ts";

/** A unit that can reach its relay saves up at most a quarter of an hour (firmware-protocol FP-6.18): what is younger
 *  than that and a minute may still be on its way. */
const reportingDelay = 16 * millisecondsIn.minute;

export const isUnrecorded = (state: MinuteState): boolean => gapStates.includes(state);

/** The runs of consecutive days as one line: a run that goes over midnight is one run. */
export function timelineOf(days: readonly LedgerDay[]): LedgerRun[] {
  const line: LedgerRun[] = [];
  for (const day of days)
    for (const run of day.runs) {
      const last = line.at(-1);
      if (last && last.state === run.state && last.end === run.start)
        line[line.length - 1] = { state: last.state, start: last.start, end: run.end };
      else line.push(run);
    }
  return line;
}

/** Whether an unrecorded stretch that ends at `end` goes on at `now`: nothing after it has happened yet. */
export const touchesNow = (end: Instant, now: Instant): boolean => end > now - millisecondsIn.minute;

/** Whether a stretch without a record may simply not have been reported yet. */
export const mayBeOnItsWay = (stretch: Span, now: Instant): boolean =>
  touchesNow(stretch.end, now) && stretch.end - stretch.start < reportingDelay;

/** Up to when a record is as complete as it will get without anything going wrong: now, or the start of the newest
 *  unrecorded minutes while they may still be on their way.
 *  @param days up to today */
export function seenUntil(days: readonly LedgerDay[], now: Instant): Instant {
  const newest = timelineOf(days).findLast((run) => run.state !== "to-come");
  return newest && isUnrecorded(newest.state) && mayBeOnItsWay(newest, now) ? newest.start : now;
}
