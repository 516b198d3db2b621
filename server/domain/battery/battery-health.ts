import type { RecordedBoot, RecordedFault, SequenceHole } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Hours, hours, type Instant, type Interval, millivolts } from "../units.ts";
import { type BatteryDay, dailyDraws } from "./battery-day.ts";
import { type Capacity, capacityOf } from "./capacity.ts";
import { type CellDescription, usualCell } from "./cell-description.ts";
import { type ChargeHistory, chargeHistory } from "./charge-history.ts";
import { chargeLasting, type Lasting } from "./charge-lasting.ts";
import { type InternalResistance, internalResistance } from "./internal-resistance.ts";
import { type ChargeHabits, chargeHabits, type UntilCharged, untilCharged } from "./next-charge.ts";
import { anchoredTolerance, stateOfCharge } from "./open-circuit-voltage.ts";
import { joinedRuns } from "./power-runs.ts";
import { type SelfDischarge, selfDischarge } from "./self-discharge.ts";

export interface BatteryHealth {
  readonly charge: Interval;
  readonly chargeAt: Instant;
  readonly history: ChargeHistory;
  /** One entry for each discharge deep enough to tell. */
  readonly lasting: readonly Lasting[];
  /** Hours a full charge lasts in ordinary use, at first and of late; null while too few deep discharges were seen. */
  readonly endurance: {
    readonly first: Hours;
    readonly recent: Hours;
    /** Recent over first, and one standard deviation of that. */
    readonly kept: Interval;
    readonly keptDeviation: number;
    readonly recentSince: Instant;
  } | null;
  readonly hoursToEmpty: Interval | null;
  /** null while charging, or where too few runs were seen. */
  readonly untilCharged: UntilCharged | null;
  readonly habits: ChargeHabits;
  readonly capacity: Capacity | null;
  /** null: the unit tells of no voltage steps. */
  readonly resistance: InternalResistance | null;
  /** null: it was never seen switched off for long enough. */
  readonly selfDischarge: SelfDischarge | null;
  /** Times the cell reached its cut-off. */
  readonly ranFlat: readonly Instant[];
}

/** Deep discharges needed at each end before "at first" and "of late" are compared. Assumption. */
const fewest = 3;
/** Two discharges that agree by luck are no proof: the ratio is never taken for surer than this. Assumption. */
const leastDoubt = 0.03;
const ninetyPercent = 1.645;
/** How far the table of another make may be off, as a share of charge. Assumption. */
const tableError = 0.02;

/** What else of the same time tells of the cell. */
interface Besides {
  readonly faults: readonly RecordedFault[];
  readonly boots: readonly RecordedBoot[];
  readonly holes: readonly SequenceHole[];
}

/** @param days oldest first
 *  @returns null where there is no minute to go by */
export function batteryHealth(
  days: readonly BatteryDay[],
  { faults, boots, holes }: Besides,
  cell: CellDescription = usualCell,
): BatteryHealth | null {
  const last = days.findLast((day) => day.last !== null)?.last;
  if (!last) return null;
  const recorded = days.reduce((sum, { use }) => sum + use.minutes, 0);
  const runs = joinedRuns(days.flatMap((day) => day.runs));
  const history = chargeHistory(runs);
  const lasting = chargeLasting(history.discharges);
  const charge = stateOfCharge(
    millivolts(last.cell - history.gaugeOffset),
    history.gaugeAnchored ? anchoredTolerance : undefined,
  );
  const capacity = capacityOf(history.discharges, cell);
  const until =
    last.power === "on-battery"
      ? untilCharged({
          charge,
          capacity: capacity?.asDrawn ?? null,
          draws: dailyDraws(days, cell),
          sessions: history.sessions,
          at: last.at,
        })
      : null;
  return {
    charge,
    chargeAt: last.at,
    history,
    lasting,
    endurance: endurance(lasting),
    hoursToEmpty: until?.hoursToEmpty ?? null,
    untilCharged: until,
    habits: chargeHabits(history.sessions, history.discharges, recorded / 60),
    capacity,
    resistance: internalResistance(days.flatMap(({ steps }) => steps)),
    selfDischarge: selfDischarge(runs, boots, holes, history.gaugeOffset),
    ranFlat: faults.filter((fault) => fault.code === "battery-cut-off").map((fault) => fault.at),
  };
}

/** Whether enough was seen to tell a cell that has faded from one that has not. */
export const tellsCapacity = (battery: BatteryHealth | null): boolean =>
  battery !== null && (battery.endurance !== null || battery.capacity?.isDrawDescribed === true);

function endurance(runs: readonly Lasting[]): BatteryHealth["endurance"] {
  const size = Math.floor(runs.length / 3);
  const recentSince = runs.at(-size)?.start;
  if (size < fewest || recentSince === undefined) return null;
  const first = together(runs.slice(0, size));
  const recent = together(runs.slice(-size));
  const kept = recent.hours / first.hours;
  const scatter = (first.spread ** 2 + recent.spread ** 2) / size;
  // The table's error is the same each time: it cancels between runs of one depth, not between shallow and deep ones.
  const bias = tableError * (1 / recent.depth - 1 / first.depth);
  const deviation = kept * Math.max(leastDoubt, Math.sqrt(scatter + bias ** 2));
  const half = ninetyPercent * deviation;
  return {
    first: hours(first.hours),
    recent: hours(recent.hours),
    kept: { low: Math.max(0, kept - half), best: kept, high: kept + half, level: 0.9 },
    keptDeviation: deviation,
    recentSince,
  };
}

/** Several runs taken together: hours over charge, so that a deep run counts for more than a shallow one, whose depth is
 *  hardly greater than its doubt. `spread` is relative, from the median absolute deviation (times 1.4826 it is a
 *  standard deviation for a normal spread). */
function together(runs: readonly Lasting[]): { hours: number; depth: number; spread: number } {
  const charge = runs.reduce((sum, { from, to }) => sum + from - to, 0);
  const hoursInAll = runs.reduce(
    (sum, { from, to, hoursPerCharge }) => sum + hoursPerCharge * (from - to),
    0,
  );
  const middle = hoursInAll / charge;
  const off = median(runs.map(({ hoursPerCharge }) => Math.abs(hoursPerCharge - middle))) ?? 0;
  return { hours: middle, depth: charge / runs.length, spread: (1.4826 * off) / middle };
}
