import type { LoanId } from "../ids.ts";
import type { LocalDay } from "../time/local-day.ts";
import type { Instant, Span } from "../units.ts";

/** What a minute of a loan is. Every minute is exactly one of these.
 *  Source of the split: observed, unobserved, awaiting upload and invalid are kept apart so that no percentage
 *  can mix them (common practice, no source). */
export const minuteStates = [
  "seated",
  "off",
  "on-charge",
  "not-trusted",
  "awaiting",
  "no-record",
  "outside-loan",
  "to-come",
] as const;
export type MinuteState = (typeof minuteStates)[number];

/** Seated or off are known; `on-charge` is off the cushion with the charger in. */
export const observedStates: readonly MinuteState[] = ["seated", "off", "on-charge"];
/** States that are a gap in the record. */
export const gapStates: readonly MinuteState[] = ["no-record", "awaiting"];

/** A maximal stretch of one state. */
export interface LedgerRun extends Span {
  readonly state: MinuteState;
}

/** One local day of one loan: runs that tile [start, end) of the day exactly, 23, 24 or 25 hours. */
export interface LedgerDay {
  readonly loan: LoanId;
  readonly day: LocalDay;
  readonly start: Instant;
  readonly end: Instant;
  readonly runs: readonly LedgerRun[];
  /** Whole minutes in each state; they add up to the minutes of the day. */
  readonly minutes: Readonly<Record<MinuteState, number>>;
}
