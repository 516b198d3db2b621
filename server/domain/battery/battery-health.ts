import type { RecordedFault, RecordedMinute } from "../record/unit-record.ts";
import { type Hours, hours, type Instant, type Interval } from "../units.ts";
import { type ChargeHistory, chargeHistory } from "./charge-history.ts";
import { stateOfCharge } from "./open-circuit-voltage.ts";

export interface BatteryHealth {
  readonly charge: Interval;
  readonly chargeAt: Instant;
  readonly history: ChargeHistory;
  /** Hours a full charge lasts: at first and of late, medians; null while too few deep discharges were seen. */
  readonly endurance: { readonly first: Hours; readonly recent: Hours; readonly kept: Interval } | null;
  readonly hoursToEmpty: Interval | null;
  /** Times the cell reached its cut-off. */
  readonly ranFlat: readonly Instant[];
}

/** Deep discharges needed at each end before "at first" and "of late" are compared. Assumption. */
const fewest = 3;

/** @param minutes oldest first, at least one
 *  @returns null where there is no minute to go by */
export function batteryHealth(
  minutes: readonly RecordedMinute[],
  faults: readonly RecordedFault[],
): BatteryHealth | null {
  const last = minutes.at(-1);
  if (!last) return null;
  const history = chargeHistory(minutes);
  const rates = history.discharges.flatMap((run) =>
    run.hoursPerCharge === null ? [] : [run.hoursPerCharge],
  );
  const charge = stateOfCharge(last.cell);
  return {
    charge,
    chargeAt: last.at,
    history,
    endurance: endurance(rates),
    hoursToEmpty: last.power === "on-battery" ? hoursToEmpty(charge, rates) : null,
    ranFlat: faults.filter((fault) => fault.code === "battery-cut-off").map((fault) => fault.at),
  };
}

function endurance(rates: readonly Hours[]): BatteryHealth["endurance"] {
  if (rates.length < 2 * fewest) return null;
  const size = Math.max(fewest, Math.floor(rates.length / 4));
  const first = rates.slice(0, size);
  const recent = rates.slice(-size);
  const kept = median(recent) / median(first);
  // Spread of single discharges about their median, carried to the ratio of two medians of `size` each.
  const doubt = 1.645 * 1.253 * Math.sqrt((relativeSpread(first) ** 2 + relativeSpread(recent) ** 2) / size);
  return {
    first: hours(median(first)),
    recent: hours(median(recent)),
    kept: { low: kept * (1 - doubt), best: kept, high: kept * (1 + doubt), level: 0.9 },
  };
}

function hoursToEmpty(charge: Interval, rates: readonly Hours[]): Interval | null {
  const recent = rates.slice(-5);
  if (recent.length < fewest) return null;
  return {
    low: charge.low * Math.min(...recent),
    best: charge.best * median(recent),
    high: charge.high * Math.max(...recent),
    level: 0.9,
  };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? 0) + upper) / 2;
}

/** Scaled median absolute deviation over the median; 1.4826 makes it a standard deviation for a normal spread. */
function relativeSpread(values: readonly number[]): number {
  const centre = median(values);
  return (1.4826 * median(values.map((value) => Math.abs(value - centre)))) / centre;
}
