import type { RecordedFault, RecordedMinute } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Hours, hours, type Instant, type Interval } from "../units.ts";
import { type ChargeHistory, chargeHistory } from "./charge-history.ts";
import { stateOfCharge } from "./open-circuit-voltage.ts";

export interface BatteryHealth {
  readonly charge: Interval;
  readonly chargeAt: Instant;
  readonly history: ChargeHistory;
  /** Hours a full charge lasts: at first and of late, medians; null while too few deep discharges were seen. */
  readonly endurance: {
    readonly first: Hours;
    readonly recent: Hours;
    /** Recent over first, and one standard deviation of that. */
    readonly kept: Interval;
    readonly keptDeviation: number;
    readonly recentSince: Instant;
  } | null;
  readonly hoursToEmpty: Interval | null;
  /** Times the cell reached its cut-off. */
  readonly ranFlat: readonly Instant[];
}

/** Deep discharges needed at each end before "at first" and "of late" are compared. Assumption. */
const fewest = 3;
/** Two discharges that agree by luck are no proof: the ratio is never taken for surer than this. Assumption. */
const leastDoubt = 0.03;
const ninetyPercent = 1.645;

/** A discharge deep enough to tell a rate. */
interface Timed {
  readonly start: Instant;
  readonly hoursPerCharge: Hours;
}

/** @param minutes oldest first, at least one
 *  @returns null where there is no minute to go by */
export function batteryHealth(
  minutes: readonly RecordedMinute[],
  faults: readonly RecordedFault[],
): BatteryHealth | null {
  const last = minutes.at(-1);
  if (!last) return null;
  const history = chargeHistory(minutes);
  const timed = history.discharges.flatMap(({ start, hoursPerCharge }): Timed[] =>
    hoursPerCharge === null ? [] : [{ start, hoursPerCharge }],
  );
  const rates = timed.map((run) => run.hoursPerCharge);
  const charge = stateOfCharge(last.cell);
  return {
    charge,
    chargeAt: last.at,
    history,
    endurance: endurance(timed),
    hoursToEmpty: last.power === "on-battery" ? hoursToEmpty(charge, rates) : null,
    ranFlat: faults.filter((fault) => fault.code === "battery-cut-off").map((fault) => fault.at),
  };
}

function endurance(runs: readonly Timed[]): BatteryHealth["endurance"] {
  if (runs.length < 2 * fewest) return null;
  const size = Math.max(fewest, Math.floor(runs.length / 4));
  const early = runs.slice(0, size).map((run) => run.hoursPerCharge);
  const late = runs.slice(-size);
  const recent = late.map((run) => run.hoursPerCharge);
  const [first, lately, recentSince] = [median(early), median(recent), late[0]?.start];
  if (first === null || lately === null || recentSince === undefined) return null;
  const kept = lately / first;
  // Spread of single discharges about their median, carried to the ratio of two medians of `size` each. A median's
  // standard error is 1.253 times a mean's (normal spread).
  const doubt =
    1.253 * Math.sqrt((relativeSpread(early, first) ** 2 + relativeSpread(recent, lately) ** 2) / size);
  const half = kept * ninetyPercent * Math.max(doubt, leastDoubt);
  return {
    first: hours(first),
    recent: hours(lately),
    kept: { low: Math.max(0, kept - half), best: kept, high: kept + half, level: 0.9 },
    keptDeviation: half / ninetyPercent,
    recentSince,
  };
}

/** The outermost of charge band and recent rates: at least nine in ten, rather more. */
function hoursToEmpty(charge: Interval, rates: readonly Hours[]): Interval | null {
  const recent = rates.slice(-5);
  const middle = median(recent);
  if (middle === null || recent.length < fewest) return null;
  return {
    low: charge.low * Math.min(...recent),
    best: charge.best * middle,
    high: charge.high * Math.max(...recent),
    level: 0.9,
  };
}

/** Scaled median absolute deviation over the median; 1.4826 makes it a standard deviation for a normal spread. */
function relativeSpread(values: readonly number[], centre: number): number {
  return (1.4826 * (median(values.map((value) => Math.abs(value - centre))) ?? 0)) / centre;
}
