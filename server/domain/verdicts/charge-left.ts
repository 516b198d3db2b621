import type { MinuteState } from "../ledger/minute-state.ts";
import { type Instant, millisecondsIn } from "../units.ts";
import type { GapContext } from "./gap-context.ts";

/** A run of a loan's ledger. */
export interface StateRun {
  readonly state: MinuteState;
  readonly start: Instant;
  readonly end: Instant;
}

/** How long a sound cell of these units runs, and how long it takes to fill. Assumptions: the shorter end of what
 *  makers give, so that a cell is not called worn for a day more than usual. */
const soundHours = 60;
const fillHours = 4;
/** A charge of this long in one sitting, from whatever was left, is taken to have filled it. Assumption. */
const fullAfter = 3 * millisecondsIn.hour;
const oneSitting = 10 * millisecondsIn.minute;

/** What a sound cell would still have held at `at`, as a share of its charge: filled by the last long charge, topped
 *  up by the shorter ones since, and drawn on all the other time. Time without a record draws too: the unit may have
 *  been recording. With it a technician tells a cell that no longer lasts from one that was not charged.
 *  @param runs the ledger before `at`, oldest first
 *  @returns null where no full charge was seen */
export function chargeLeft(runs: readonly StateRun[], at: Instant): GapContext["chargeLeft"] {
  let share: number | null = null;
  let sitting = 0;
  let lastCharge: Instant | null = null;
  for (const run of runs) {
    if (run.start >= at) break;
    const lasted = Math.min(run.end, at) - run.start;
    if (run.state === "on-charge") {
      const again = lastCharge !== null && run.start - lastCharge <= oneSitting;
      sitting = again ? sitting + lasted : lasted;
      lastCharge = run.end;
      if (share !== null) share = Math.min(1, share + lasted / (fillHours * millisecondsIn.hour));
      if (sitting >= fullAfter) share = 1;
    } else if (share !== null) share = Math.max(0, share - lasted / (soundHours * millisecondsIn.hour));
  }
  return share === null || lastCharge === null
    ? null
    : { share, sinceCharge: Math.max(0, at - lastCharge) / millisecondsIn.hour };
}

/** Fewer days of record, or fewer times on the charger in them, don't show that it is never filled. Assumptions. */
const fewestDays = 5;
const fewestTimes = 3;

/** Days of record in which it was on the charger, time after time, and no charge was seen that would have filled it. null: one was seen, or too little record.
 *  @param runs the ledger before `at`, oldest first */
export function neverFullIn(runs: readonly StateRun[], at: Instant): number | null {
  if (chargeLeft(runs, at) !== null) return null;
  const times = runs.filter(({ state, start }) => state === "on-charge" && start < at).length;
  if (times < fewestTimes) return null;
  const recorded = runs
    .filter(({ state }) => state === "seated" || state === "off" || state === "on-charge")
    .reduce((sum, { start, end }) => sum + Math.max(0, Math.min(end, at) - start), 0);
  const days = Math.floor(recorded / (24 * millisecondsIn.hour));
  return days < fewestDays ? null : days;
}
