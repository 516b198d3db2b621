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

/** The clock as it runs, from where it last stood. Say under which plan before anything else, and again when another
 *  comes into force. Each method takes time that follows on from the one before. */
export class RunningClock {
  readonly #clock: Working;
  readonly #events: ClockEvents;
  readonly #sufficientOff: number;
  #interval = 0;
  #deadline = 0;
  #rest = 0;

  constructor(from: ReliefClock, sufficientOffMinutes: number, events: ClockEvents) {
    this.#clock = { ...from };
    this.#sufficientOff = sufficientOffMinutes * millisecondsIn.minute;
    this.#events = events;
  }

  get planVersion(): number | null {
    return this.#clock.planVersion;
  }

  reading(): ReliefClock {
    return { ...this.#clock };
  }

  under(plan: ReliefPlan): void {
    this.#clock.planVersion = plan.version;
    this.#interval = plan.interval * millisecondsIn.minute;
    this.#deadline = this.#interval * (1 + graceShare);
    this.#rest = restMilliseconds(plan.interval);
  }

  seated(start: Instant, end: Instant): void {
    const clock = this.#clock;
    clock.offSince = null;
    clock.sit ??= { start, missed: 0 };
    let from: number = start;
    if (clock.blind) {
      const step = Math.min(this.#interval - clock.sitting, end - start);
      this.#addUnseen(step, start);
      clock.sitting += step;
      from += step;
      if (clock.sitting >= this.#interval) this.#endBlind(instant(from), true);
    }
    this.#sitSeen(instant(from), end);
  }

  off(start: Instant, end: Instant): void {
    const clock = this.#clock;
    const since = clock.offSince ?? start;
    clock.offSince = since;
    // Only the moment at which the time off becomes enough, or a rest, does anything.
    if (passes(since + this.#sufficientOff, start, end)) {
      this.#endSit(since);
      this.#offLoad(instant(since + this.#sufficientOff));
    }
    if (passes(since + this.#rest, start, end)) {
      clock.covered = 0;
      clock.unseen = 0;
    }
  }

  unseen(start: Instant, end: Instant): void {
    const clock = this.#clock;
    clock.offSince = null;
    this.#endSit(start);
    if (!clock.blind) {
      // The window that was open, and what was covered but not yet counted, can't be told apart from blind time.
      this.#addUnseen(clock.sitting + Math.max(clock.covered, 0), start);
      clock.covered = Math.min(clock.covered, 0);
      clock.blind = true;
      clock.phaseUnknown = false;
      clock.edge = false;
    }
    this.#restart(0);
    this.#addUnseen(end - start, start);
  }

  relief(at: Instant): void {
    // A lift long enough to show as a minute off the cushion ended the sitting when it began.
    this.#endSit(this.#clock.offSince ?? at);
    this.#offLoad(at);
  }

  /** Each day's bounds hold by themselves. What is left over from rounding is dropped; blind time is rounded up within
   *  its day, and a window open over midnight, that nobody saw, counts in the next day once more. Where the clock runs
   *  but when it started is not known, a relief missed within its reach of midnight may be the other day's: it is told
   *  as not assessable. */
  closeDay(end: Instant): void {
    const clock = this.#clock;
    clock.covered = 0;
    if (clock.blind) {
      this.#settleUnseen(end);
      clock.unseen = this.#interval;
      return;
    }
    clock.unseen = 0;
    if (!clock.phaseUnknown || !clock.sit) return;
    const { due } = this.#events;
    const last = due.at(-1);
    if (last?.outcome === "missed" && last.dueAt > end - this.#deadline)
      due[due.length - 1] = { ...last, outcome: "not-assessable" };
    this.#tell(end, "not-assessable");
    clock.edge = true;
  }

  /** The loan or the plan ends: nothing is carried over. */
  stop(at: Instant): void {
    this.#endSit(at);
    if (this.#clock.blind) this.#settleUnseen(at);
    Object.assign(this.#clock, clockAtRest);
  }

  #tell(dueAt: Instant, outcome: DueRelief["outcome"]): void {
    this.#events.due.push({ dueAt, outcome });
  }

  #endSit(end: Instant): void {
    if (this.#clock.sit) this.#events.sits.push({ ...this.#clock.sit, end });
    this.#clock.sit = null;
  }

  #restart(sitting: number): void {
    this.#clock.sitting = sitting;
    this.#clock.dueAt = null;
  }

  #addUnseen(amount: number, from: Instant): void {
    const clock = this.#clock;
    let left = amount;
    let at: number = from;
    while (clock.unseen + left >= this.#interval) {
      const step = this.#interval - clock.unseen;
      at += step;
      left -= step;
      clock.unseen = 0;
      this.#tell(instant(at), "not-assessable");
    }
    clock.unseen += left;
  }

  /** Rounds up, so that the bounds hold whatever happened. */
  #settleUnseen(at: Instant): void {
    while (this.#clock.unseen > 0) {
      this.#tell(at, "not-assessable");
      this.#clock.unseen -= this.#interval;
    }
  }

  #endBlind(at: Instant, phaseUnknown: boolean): void {
    this.#settleUnseen(at);
    this.#clock.blind = false;
    this.#clock.phaseUnknown = phaseUnknown;
    this.#restart(0);
  }

  #offLoad(at: Instant): void {
    const clock = this.#clock;
    clock.edge = false;
    if (clock.blind) this.#endBlind(at, false);
    else if (clock.phaseUnknown) {
      clock.unseen += clock.sitting;
      this.#endBlind(at, false);
    } else {
      clock.covered += Math.min(clock.sitting, this.#interval);
      if (clock.covered >= this.#interval / 2) {
        this.#tell(at, "met");
        clock.covered -= this.#interval;
      }
      this.#restart(0);
    }
  }

  #sitSeen(start: Instant, end: Instant): void {
    const clock = this.#clock;
    let at: number = start;
    while (at < end) {
      const goal = clock.dueAt === null ? this.#interval : this.#deadline;
      const step = Math.min(goal - clock.sitting, end - at);
      clock.sitting += step;
      at += step;
      if (clock.sitting < goal) continue;
      if (clock.dueAt === null) clock.dueAt = instant(at);
      else {
        this.#tell(clock.dueAt, clock.edge ? "not-assessable" : "missed");
        clock.edge = false;
        if (clock.sit) clock.sit = { ...clock.sit, missed: clock.sit.missed + 1 };
        this.#restart(this.#deadline - this.#interval);
      }
    }
  }
}

const passes = (moment: number, start: Instant, end: Instant): boolean => moment > start && moment <= end;
