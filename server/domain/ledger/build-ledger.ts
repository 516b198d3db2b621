import type { LoanId } from "../ids.ts";
import { seatMinutesOf } from "../record/seat-minutes.ts";
import type { SequenceHole, UnitRecord } from "../record/unit-record.ts";
import { dayBounds, type LocalDay, type ZoneName } from "../time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import type { LedgerDay, LedgerRun, MinuteState } from "./minute-state.ts";
import { PaintedDay } from "./painted-day.ts";
import { doubtfulSpans } from "./trusted.ts";

/** When a unit was with one borrower. `end` null: still is. */
export interface LoanWindow {
  readonly loan: LoanId;
  readonly start: Instant;
  readonly end: Instant | null;
}

export interface LedgerRequest {
  readonly window: LoanWindow;
  readonly record: Pick<UnitRecord, "minutes" | "seatMinutes" | "faults" | "holes">;
  /** Recorded by somebody or something else, as a person confirmed: nothing is known of the borrower in it. */
  readonly notTheirs?: readonly Span[];
  readonly now: Instant;
  readonly zone: ZoneName;
}

/** Puts every minute of each day in exactly one state. First that holds:
 *  outside-loan: the slot's midpoint lies before the loan's start or at or after its end;
 *  to-come: the slot has not ended by `now`;
 *  not-trusted: recorded while the unit's word on its load couldn't be taken (see trusted.ts), or by somebody or
 *  something else;
 *  seated: recorded as loaded, charging or not;
 *  on-charge: recorded as empty with the charger in; off: recorded as empty on battery;
 *  awaiting: not recorded, and the unit still holds, as far as we know, what it numbered for this time;
 *  no-record: none of these.
 *  @param days any local days, oldest first */
export function buildLedger(request: LedgerRequest, days: readonly LocalDay[]): LedgerDay[] {
  const painted = painter(request);
  return days.map((day) => {
    const bounds = dayBounds(day, request.zone);
    const runs = painted(bounds);
    const minutes = noMinutes();
    for (const run of runs) minutes[run.state] += (run.end - run.start) / millisecondsIn.minute;
    return { loan: request.window.loan, day, ...bounds, runs, minutes };
  });
}

export const noMinutes = (): Record<MinuteState, number> => ({
  seated: 0,
  off: 0,
  "on-charge": 0,
  "not-trusted": 0,
  awaiting: 0,
  "no-record": 0,
  "outside-loan": 0,
  "to-come": 0,
});

/** Paints a day from the weakest word to the strongest. */
function painter({ window, record, notTheirs = [], now }: LedgerRequest): (day: Span) => LedgerRun[] {
  const seats = record.seatMinutes ?? seatMinutesOf(record.minutes);
  const doubtful = doubtfulSpans(record.faults);
  const awaited = awaitedSpans(record.holes);
  return (day) => {
    const painted = new PaintedDay(day);
    const { start, end } = day;
    for (const span of awaited) painted.paint(span, "awaiting");
    painted.paintRecorded(seats);
    for (const span of doubtful) painted.doubt(span);
    for (const span of notTheirs) painted.paint(span, "not-trusted");
    // A minute is over when it has ended, half a minute after its middle.
    painted.paint({ start: now - millisecondsIn.minute / 2 + 1, end }, "to-come");
    painted.paint({ start, end: window.start }, "outside-loan");
    if (window.end !== null) painted.paint({ start: window.end, end }, "outside-loan");
    return painted.runs();
  };
}

/** A hole with an unknown edge can't be placed, so it claims no minute. */
function awaitedSpans(holes: readonly SequenceHole[]): Span[] {
  const spans: Span[] = [];
  for (const { fate, after, before } of holes)
    if (fate === "awaited" && after !== null && before !== null && after < before)
      spans.push({ start: after, end: before });
  spans.sort((a, b) => a.start - b.start);
  const joined: { start: Instant; end: Instant }[] = [];
  for (const span of spans) {
    const last = joined.at(-1);
    if (last && span.start <= last.end) last.end = instant(Math.max(last.end, span.end));
    else joined.push({ ...span });
  }
  return joined;
}
