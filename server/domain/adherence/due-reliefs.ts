import type { LedgerDay, LedgerRun } from "../ledger/minute-state.ts";
import { firstAtOrAfter } from "../record/entries-within.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { type Instant, instant } from "../units.ts";
import type { DueRelief } from "./adherence.ts";
import {
  type ClockEvents,
  clockAtRest,
  type ReliefClock,
  RunningClock,
  type UnbrokenSit,
} from "./relief-clock.ts";
import type { ReliefPlan } from "./relief-plan.ts";

export interface DueReliefsRequest {
  /** Consecutive, oldest first. */
  readonly days: readonly LedgerDay[];
  /** Every relief seen in these days, in order of time. */
  readonly reliefs: readonly RecordedRelief[];
  /** All versions; the one in force when a minute happened judges it. Before the first, nothing is due. */
  readonly plans: readonly ReliefPlan[];
  readonly sufficientOffMinutes: number;
  /** What lies after this is left out: see `seenUntil`. */
  readonly until: Instant;
}

export interface DueReliefs {
  readonly due: readonly DueRelief[];
  /** Sitting without an off-load that has ended; the one that goes on is in the clock. */
  readonly sits: readonly UnbrokenSit[];
  readonly clock: ReliefClock;
}

/** Reliefs due, met, missed and not assessable, from the ledger and the reliefs seen.
 *
 *  The clock runs while the person is seated. It restarts at an *off-load*: a complete relief of a kind the plan
 *  allows, held at least as long as the plan asks, or time off the cushion of at least `sufficientOffMinutes`. Shorter
 *  time off stops the clock without restarting it.
 *
 *  - Missed: the clock reached the interval, and a grace of a fifth of it, without an off-load. The clock restarts at
 *    the moment the relief was due, so one long sit misses one relief an interval.
 *  - Met: sitting that an off-load relieved in time is *covered*; each whole interval of covered sitting, counted to
 *    the nearest, is one relief met, told at the off-load that makes it whole. So met and missed together come to
 *    seated time over interval (7.4 h at 30 min: 14.8 due), and ten lifts in a row are not ten reliefs that were due.
 *  - Not assessable: time without a record, or with one that can't be trusted, may have been sitting. It is *blind*,
 *    with the sitting before it that no off-load had ended, and the sitting after it until the first off-load or until
 *    one interval has passed. Blind time counts one relief for each interval of it, begun: rounded up, so that
 *    whatever happened the truth lies within the bounds (bounds.ts). An off-load seen later still ends a window whose
 *    start was never seen, and that window is blind too.
 *
 *  A rest (two hours off the cushion, or the interval if longer) drops what is left over from rounding: each sitting
 *  day stands for itself, so that it can be worked out again from the last rest before it.
 *
 *  A relief is listed with the day in which it was decided: one that fell due just before midnight is found missed
 *  when its grace runs out, after it. The newest unrecorded minutes, which may still be on their way, are left out
 *  (`seenUntil`, timeline.ts).
 *
 *  Source: the rule that the clock starts at the last qualifying off-load and that an opportunity which meets a gap is
 *  censored is common practice, no source; the grace, the rest and rounding are assumptions. */
export function dueReliefs(request: DueReliefsRequest, from: ReliefClock = clockAtRest): DueReliefs {
  const events: ClockEvents = { due: [], sits: [] };
  const clock = new RunningClock(from, request.sufficientOffMinutes, events);
  for (const piece of piecesOf(request)) advance(clock, piece, request);
  return { ...events, clock: clock.reading() };
}

interface Piece extends LedgerRun {
  readonly plan: ReliefPlan | null;
  readonly endsDay: boolean;
}

/** The seen past, cut wherever another plan comes into force. */
function piecesOf({ days, plans, until }: DueReliefsRequest): Piece[] {
  const ordered = [...plans].sort((a, b) => a.validFrom - b.validFrom || a.version - b.version);
  const pieces: Piece[] = [];
  const dayEnds = new Set(days.map(({ end }) => end));
  for (const run of days.flatMap(({ runs }) => runs)) {
    const runEnd = instant(Math.min(run.end, until));
    if (run.state === "to-come" || run.start >= runEnd) break;
    const cuts = ordered.map((plan) => plan.validFrom).filter((at) => at > run.start && at < runEnd);
    const edges = [run.start, ...cuts, runEnd];
    for (const [index, start] of edges.entries()) {
      const end = edges[index + 1];
      if (end === undefined || end <= start) continue;
      const plan = ordered.findLast((version) => version.validFrom <= start) ?? null;
      pieces.push({ state: run.state, start, end, plan, endsDay: dayEnds.has(end) });
    }
  }
  return pieces;
}

function advance(clock: RunningClock, piece: Piece, { plans, reliefs }: DueReliefsRequest): void {
  const before = plans.find((plan) => plan.version === clock.planVersion);
  if (before && before.version !== piece.plan?.version) {
    clock.under(before);
    clock.stop(piece.start);
  }
  if (!piece.plan) return;
  clock.under(piece.plan);
  if (piece.state === "outside-loan") clock.stop(piece.start);
  else {
    let start = piece.start;
    for (const relief of offLoadsIn(piece, piece.plan, reliefs)) {
      pass(clock, piece, start, relief.at);
      clock.relief(relief.at);
      start = relief.at;
    }
    pass(clock, piece, start, piece.end);
  }
  if (piece.endsDay) clock.closeDay(piece.end);
}

function pass(running: RunningClock, piece: Piece, start: Instant, end: Instant): void {
  if (end <= start) return;
  switch (piece.state) {
    case "seated":
      running.seated(start, end);
      return;
    case "off":
    case "on-charge":
      running.off(start, end);
      return;
    case "no-record":
    case "awaiting":
    case "not-trusted":
      running.unseen(start, end);
      return;
    case "outside-loan":
    case "to-come":
      return;
  }
}

/** Reliefs within the piece that the plan counts. What was recorded while the load couldn't be trusted counts for nothing. */
function offLoadsIn(piece: Piece, plan: ReliefPlan, reliefs: readonly RecordedRelief[]): RecordedRelief[] {
  if (piece.state === "not-trusted") return [];
  const found: RecordedRelief[] = [];
  for (let index = firstAtOrAfter(reliefs, piece.start); index < reliefs.length; index += 1) {
    const relief = reliefs[index];
    if (!relief || relief.at >= piece.end) break;
    if (qualifies(relief, plan)) found.push(relief);
  }
  return found;
}

export const qualifies = (relief: RecordedRelief, plan: ReliefPlan): boolean =>
  relief.outcome === "complete" && relief.hold >= plan.hold && plan.kinds.includes(relief.kind);
