import type { LoanId } from "../ids.ts";
import { seatMinutesOf, seatStates } from "../record/seat-minutes.ts";
import type { SequenceHole, UnitRecord } from "../record/unit-record.ts";
import { dayBounds, type LocalDay, type ZoneName } from "../time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import type { LedgerDay, LedgerRun, MinuteState } from "./minute-state.ts";
import { minuteCover, spanCover } from "./slot-cover.ts";
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
  const stateAt = stateOfSlots(request);
  return days.map((day) => {
    const { start, end } = dayBounds(day, request.zone);
    const runs = runsBetween(start, end, stateAt);
    const minutes = noMinutes();
    for (const run of runs) minutes[run.state] += (run.end - run.start) / millisecondsIn.minute;
    return { loan: request.window.loan, day, start, end, runs, minutes };
  });
}

function runsBetween(start: Instant, end: Instant, stateAt: (slot: Instant) => MinuteState): LedgerRun[] {
  const runs: LedgerRun[] = [];
  let from = start;
  let state = stateAt(start);
  let slot = start;
  while (slot < end) {
    const slotEnd = instant(slot + millisecondsIn.minute);
    const next = slotEnd < end ? stateAt(slotEnd) : null;
    if (next !== state) runs.push({ state, start: from, end: slotEnd });
    if (next !== null && next !== state) [from, state] = [slotEnd, next];
    slot = slotEnd;
  }
  return runs;
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

function stateOfSlots(request: LedgerRequest): (slot: Instant) => MinuteState {
  const { window, record, now } = request;
  const seats = record.seatMinutes ?? seatMinutesOf(record.minutes);
  const recorded = minuteCover(seats.at);
  const doubtful = spanCover(doubtfulSpans(record.faults));
  const awaited = spanCover(awaitedSpans(record.holes));
  const others = spanCover([...(request.notTheirs ?? [])].sort((a, b) => a.start - b.start));
  return (slot) => {
    const middle = instant(slot + millisecondsIn.minute / 2);
    if (middle < window.start || (window.end !== null && middle >= window.end)) return "outside-loan";
    if (slot + millisecondsIn.minute > now) return "to-come";
    if (others(middle)) return "not-trusted";
    const minute = recorded(middle);
    const state = seatStates[seats.state[minute] ?? -1];
    if (state !== undefined) return doubtful(middle) ? "not-trusted" : state;
    return awaited(middle) ? "awaiting" : "no-record";
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
