import { type Instant, instant, millisecondsIn } from "../units.ts";
import type { DueRelief } from "./adherence.ts";
import type { ReliefPlan } from "./relief-plan.ts";

/** Sitting without an off-load, as far as it was seen. `missed`: reliefs that fell due in it and were not done. */
export interface UnbrokenSit {
  readonly start: Instant;
  /** null: still sitting when last seen. */
  readonly end: Instant | null;
  readonly missed: number;
}

/** Where the relief clock stands between one run of the ledger and the next: a value, so that a day can be worked out
 *  from the day before it. All amounts are milliseconds. The meaning of each is told in due-reliefs.ts. */
export interface ReliefClock {
  readonly planVersion: number | null;
  /** Seated time since the clock started, or in blind time since the record came back. */
  readonly sitting: number;
  /** When the clock reached the interval, while its grace runs. */
  readonly dueAt: Instant | null;
  /** Inside a stretch whose off-loads can't be known. */
  readonly blind: boolean;
  /** The clock was started for want of better after blind time, not by an off-load. */
  readonly phaseUnknown: boolean;
  /** Midnight passed while `phaseUnknown`: the next decision may be the other day's. */
  readonly edge: boolean;
  /** Covered sitting not yet counted as a relief met: half an interval either way. */
  readonly covered: number;
  /** Blind time not yet counted as a relief that can't be assessed. */
  readonly unseen: number;
  readonly offSince: Instant | null;
  readonly sit: { readonly start: Instant; readonly missed: number } | null;
}

export const clockAtRest: ReliefClock = {
  planVersion: null,
  sitting: 0,
  dueAt: null,
  blind: false,
  phaseUnknown: false,
  edge: false,
  covered: 0,
  unseen: 0,
  offSince: null,
  sit: null,
};

/** A relief this share of the interval late still answers. Assumption: a plan's interval is a rhythm, not a stopwatch. */
const graceShare = 0.2;

/** Until when a relief due at `dueAt` is still waited for. @param interval minutes */
export const graceEnds = (dueAt: Instant, interval: number): Instant =>
  instant(dueAt + graceShare * interval * millisecondsIn.minute);

/** Time off that ends a sitting day whatever the plan. Assumption. */
const shortestRestMinutes = 120;

/** Off-cushion time after which nothing of the earlier sitting counts any more: two hours, or the interval if longer. */
export const restMilliseconds = (longestIntervalMinutes: number): number =>
  Math.max(shortestRestMinutes, longestIntervalMinutes) * millisecondsIn.minute;

export interface ClockEvents {
  readonly due: DueRelief[];
  readonly sits: UnbrokenSit[];
}

type Working = { -readonly [Key in keyof ReliefClock]: ReliefClock[Key] };

/** The clock under one plan. Each method takes time that follows on from the one before. */
export function runClock(
  from: ReliefClock,
  plan: ReliefPlan,
  sufficientOffMinutes: number,
  events: ClockEvents,
) {
  const clock: Working = { ...from, planVersion: plan.version };
  const interval = plan.interval * millisecondsIn.minute;
  const deadline = interval * (1 + graceShare);
  const sufficientOff = sufficientOffMinutes * millisecondsIn.minute;
  const rest = restMilliseconds(plan.interval);

  const tell = (dueAt: Instant, outcome: DueRelief["outcome"]): void => {
    events.due.push({ dueAt, outcome });
  };
  const endSit = (end: Instant): void => {
    if (clock.sit) events.sits.push({ ...clock.sit, end });
    clock.sit = null;
  };
  const restart = (sitting: number): void => {
    clock.sitting = sitting;
    clock.dueAt = null;
  };
  const addUnseen = (amount: number, from: Instant): void => {
    let left = amount;
    let at: number = from;
    while (clock.unseen + left >= interval) {
      const step = interval - clock.unseen;
      at += step;
      left -= step;
      clock.unseen = 0;
      tell(instant(at), "not-assessable");
    }
    clock.unseen += left;
  };
  /** Rounds up, so that the bounds hold whatever happened. */
  const settleUnseen = (at: Instant): void => {
    while (clock.unseen > 0) {
      tell(at, "not-assessable");
      clock.unseen -= interval;
    }
  };
  const endBlind = (at: Instant, phaseUnknown: boolean): void => {
    settleUnseen(at);
    clock.blind = false;
    clock.phaseUnknown = phaseUnknown;
    restart(0);
  };

  const offLoad = (at: Instant): void => {
    clock.edge = false;
    if (clock.blind) endBlind(at, false);
    else if (clock.phaseUnknown) {
      clock.unseen += clock.sitting;
      endBlind(at, false);
    } else {
      clock.covered += Math.min(clock.sitting, interval);
      if (clock.covered >= interval / 2) {
        tell(at, "met");
        clock.covered -= interval;
      }
      restart(0);
    }
  };

  const sitSeen = (start: Instant, end: Instant): void => {
    let at: number = start;
    while (at < end) {
      const goal = clock.dueAt === null ? interval : deadline;
      const step = Math.min(goal - clock.sitting, end - at);
      clock.sitting += step;
      at += step;
      if (clock.sitting < goal) continue;
      if (clock.dueAt === null) clock.dueAt = instant(at);
      else {
        tell(clock.dueAt, clock.edge ? "not-assessable" : "missed");
        clock.edge = false;
        if (clock.sit) clock.sit = { ...clock.sit, missed: clock.sit.missed + 1 };
        restart(deadline - interval);
      }
    }
  };

  const seated = (start: Instant, end: Instant): void => {
    clock.offSince = null;
    clock.sit ??= { start, missed: 0 };
    let from: number = start;
    if (clock.blind) {
      const step = Math.min(interval - clock.sitting, end - start);
      addUnseen(step, start);
      clock.sitting += step;
      from += step;
      if (clock.sitting >= interval) endBlind(instant(from), true);
    }
    sitSeen(instant(from), end);
  };

  const off = (start: Instant, end: Instant): void => {
    const since = clock.offSince ?? start;
    // Only the moment at which the time off becomes enough, or a rest, does anything.
    const passes = (length: number): boolean => since + length > start && since + length <= end;
    clock.offSince = since;
    if (passes(sufficientOff)) {
      endSit(since);
      offLoad(instant(since + sufficientOff));
    }
    if (passes(rest)) {
      clock.covered = 0;
      clock.unseen = 0;
    }
  };

  const unseen = (start: Instant, end: Instant): void => {
    clock.offSince = null;
    endSit(start);
    if (!clock.blind) {
      // The window that was open, and what was covered but not yet counted, can't be told apart from blind time.
      addUnseen(clock.sitting + Math.max(clock.covered, 0), start);
      clock.covered = Math.min(clock.covered, 0);
      clock.blind = true;
      clock.phaseUnknown = false;
      clock.edge = false;
    }
    restart(0);
    addUnseen(end - start, start);
  };

  /** Each day's bounds hold by themselves. What is left over from rounding is dropped; blind time is rounded up within
   *  its day, and a window open over midnight, that nobody saw, counts in the next day once more. Where the clock runs
   *  but when it started is not known, a relief missed within its reach of midnight may be the other day's: it is told
   *  as not assessable. */
  const closeDay = (end: Instant): void => {
    clock.covered = 0;
    if (clock.blind) {
      settleUnseen(end);
      clock.unseen = interval;
      return;
    }
    clock.unseen = 0;
    if (!clock.phaseUnknown || !clock.sit) return;
    const last = events.due.at(-1);
    if (last?.outcome === "missed" && last.dueAt > end - deadline)
      events.due[events.due.length - 1] = { ...last, outcome: "not-assessable" };
    tell(end, "not-assessable");
    clock.edge = true;
  };

  return {
    seated,
    off,
    unseen,
    relief: (at: Instant): void => {
      // A lift long enough to show as a minute off the cushion ended the sitting when it began.
      endSit(clock.offSince ?? at);
      offLoad(at);
    },
    closeDay,
    /** The loan or the plan ends: nothing is carried over. */
    stop: (at: Instant): void => {
      endSit(at);
      if (clock.blind) settleUnseen(at);
      Object.assign(clock, clockAtRest);
    },
    reading: (): ReliefClock => ({ ...clock }),
  };
}
