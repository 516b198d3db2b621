import type { RecordedPowerEvent } from "../record/told-events.ts";
import type { PowerState, RecordedMinute } from "../record/unit-record.ts";
import type { Instant, Millivolts } from "../units.ts";
import type { CellDescription } from "./cell-description.ts";
import { type VoltageStep, voltageSteps } from "./internal-resistance.ts";
import { type PowerRun, powerRuns } from "./power-runs.ts";

/** What one day says of a battery. */
export interface BatteryDay {
  readonly runs: readonly PowerRun[];
  /** Minutes on record: in all, sat on, and out of touch. What they draw is for the model's description to say. */
  readonly use: { readonly minutes: number; readonly loaded: number; readonly searching: number };
  readonly steps: readonly VoltageStep[];
  readonly last: { readonly at: Instant; readonly cell: Millivolts; readonly power: PowerState } | null;
}

/** @param minutes of one day, oldest first */
export function batteryDay(
  minutes: readonly RecordedMinute[],
  powerEvents: readonly RecordedPowerEvent[] = [],
): BatteryDay {
  let loaded = 0;
  let searching = 0;
  for (const { seat, signal } of minutes) {
    if (seat === "loaded") loaded++;
    if (signal === null) searching++;
  }
  const last = minutes.at(-1);
  return {
    runs: powerRuns(minutes),
    use: { minutes: minutes.length, loaded, searching },
    steps: voltageSteps(powerEvents),
    last: last ? { at: last.at, cell: last.cell, power: last.power } : null,
  };
}

/** A day with less than this on record would be told by its brighter half. Assumption. */
const fewestMinutes = 22 * 60;

/** What each whole day would have drawn on battery, mA. */
export const dailyDraws = (days: readonly BatteryDay[], { draw }: CellDescription): number[] =>
  days.flatMap(({ use: { minutes, loaded, searching } }) =>
    minutes < fewestMinutes
      ? []
      : [(loaded * draw.loaded + (minutes - loaded) * draw.empty + searching * draw.searching) / minutes],
  );
