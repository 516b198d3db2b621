import type { PowerState, RecordedMinute } from "../record/unit-record.ts";
import type { Instant, Millivolts } from "../units.ts";
import { describedDraw } from "./capacity.ts";
import { type PowerRun, powerRuns } from "./power-runs.ts";

/** What one day says of a battery. */
export interface BatteryDay {
  readonly runs: readonly PowerRun[];
  /** mA the day would have drawn on battery, minute by minute: by the hours sat on, empty, and out of touch. */
  readonly draw: { readonly minutes: number; readonly sum: number };
  readonly last: { readonly at: Instant; readonly cell: Millivolts; readonly power: PowerState } | null;
}

/** @param minutes of one day, oldest first */
export function batteryDay(minutes: readonly RecordedMinute[]): BatteryDay {
  let sum = 0;
  for (const { seat, signal } of minutes)
    sum += describedDraw[seat] + (signal === null ? describedDraw.searching : 0);
  const last = minutes.at(-1);
  return {
    runs: powerRuns(minutes),
    draw: { minutes: minutes.length, sum },
    last: last ? { at: last.at, cell: last.cell, power: last.power } : null,
  };
}

/** A day with less than this on record would be told by its brighter half. Assumption. */
const fewestMinutes = 22 * 60;

/** What each whole day would have drawn, mA. */
export const dailyDraws = (days: readonly BatteryDay[]): number[] =>
  days.filter(({ draw }) => draw.minutes >= fewestMinutes).map(({ draw }) => draw.sum / draw.minutes);
