import { median } from "../statistics/median.ts";
import { normalCdf } from "../statistics/normal.ts";
import {
  type Hours,
  hours,
  type Instant,
  type Interval,
  millisecondsIn,
  type Probability,
  probability,
} from "../units.ts";
import type { ChargeSession, Discharge } from "./charge-history.ts";

/** Whether the charge will last until this person usually charges again. */
export interface UntilCharged {
  readonly hoursToEmpty: Interval;
  /** Time until the next usual charge, from gaps like this one; null: it has never waited this long. */
  readonly usualWait: Hours | null;
  readonly flatBefore: Probability | null;
}

/** Habits of charging, told to whoever calls. */
export interface ChargeHabits {
  readonly usualGap: Hours | null;
  readonly longestGap: Hours | null;
  readonly cutShort: number;
  readonly sessions: number;
  /** Share of the record in which the charger was in. */
  readonly pluggedIn: number;
  /** Discharges that went below a tenth. */
  readonly deeplyFlat: number;
}

const fewestDays = 4;
const fewestGaps = 4;
const ninetyPercent = 1.645;
/** At its cut-off of 3.15 V a unit stops with this much left, by the table of rested voltages. */
const leftAtCutOff = 0.06;
/** One standard deviation of that, as a share of charge: the foot of the curve is steep and differs most between makes.
 *  Assumption. */
const cutOffDoubt = 0.02;
/** What else may be off, as a share: assumption. */
const leastDoubt = 0.01;

interface Asked {
  readonly charge: Interval;
  /** mAh; null where it isn't known. */
  readonly capacity: Interval | null;
  /** mA, one a whole day. */
  readonly draws: readonly number[];
  readonly sessions: readonly ChargeSession[];
  /** Now, while on battery. */
  readonly at: Instant;
}

/** Charge over draw, nights and days as this person has them; the doubts of charge, capacity and days to come add up as
 *  independent relative errors do (propagation of error, JCGM 100:2008, 5.1). */
export function untilCharged({ charge, capacity, draws, sessions, at }: Asked): UntilCharged | null {
  if (capacity === null || draws.length < fewestDays) return null;
  const draw = draws.reduce((sum, each) => sum + each, 0) / draws.length;
  const variance = draws.reduce((sum, each) => sum + (each / draw - 1) ** 2, 0) / (draws.length - 1);
  const usable = Math.max(0.001, charge.best - leftAtCutOff);
  const left = (usable * capacity.best) / draw;
  const days = Math.max(0.5, left / 24);
  const doubt = Math.hypot(
    (charge.high - charge.low) / 2 / ninetyPercent / usable,
    cutOffDoubt / usable,
    (capacity.high - capacity.low) / 2 / ninetyPercent / capacity.best,
    Math.sqrt(variance * (1 / days + 1 / draws.length)),
    leastDoubt,
  );
  const spread = left * doubt;
  const half = ninetyPercent * spread;
  const hoursToEmpty = { low: Math.max(0, left - half), best: left, high: left + half, level: 0.9 };
  return { hoursToEmpty, ...againstHabit(sessions, at, left, spread) };
}

/** Of the gaps between charges that lasted at least as long as this one has so far, how many go on past empty. */
function againstHabit(sessions: readonly ChargeSession[], at: Instant, left: number, spread: number) {
  const gaps = gapsBetween(sessions);
  const last = sessions.at(-1);
  if (!last || gaps.length < fewestGaps) return { usualWait: null, flatBefore: null };
  const waited = (at - last.end) / millisecondsIn.hour;
  const waits = gaps.filter((gap) => gap > waited).map((gap) => gap - waited);
  const usual = median(waits);
  // Beyond every gap on record nothing says when: longer than the rest is all that is known.
  if (usual === null) return { usualWait: null, flatBefore: null };
  const flat = waits.reduce((sum, wait) => sum + normalCdf((wait - left) / spread), 0) / waits.length;
  return { usualWait: hours(usual), flatBefore: probability(Math.min(0.99, Math.max(0.01, flat))) };
}

export function chargeHabits(
  sessions: readonly ChargeSession[],
  discharges: readonly Discharge[],
  recordedHours: number,
): ChargeHabits {
  const gaps = gapsBetween(sessions);
  const usual = median(gaps);
  const plugged = sessions.reduce((sum, { start, end }) => sum + (end - start), 0) / millisecondsIn.hour;
  return {
    usualGap: usual === null ? null : hours(usual),
    longestGap: gaps.length === 0 ? null : hours(Math.max(...gaps)),
    cutShort: sessions.filter(({ ended }) => ended === "interrupted").length,
    sessions: sessions.length,
    pluggedIn: recordedHours > 0 ? Math.min(1, plugged / recordedHours) : 0,
    deeplyFlat: discharges.filter(({ to }) => to < 0.1).length,
  };
}

const gapsBetween = (sessions: readonly ChargeSession[]): number[] =>
  sessions.flatMap((session, index) => {
    const before = sessions[index - 1];
    const gap = before ? (session.start - before.end) / millisecondsIn.hour : 0;
    return gap > 0.5 ? [gap] : [];
  });
