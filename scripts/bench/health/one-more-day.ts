import { day } from "../../simulated-cushions/wall-clock.ts";
import { healthAt } from "./dead-zones.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import { type BenchOptions, type Row, round } from "./rows.ts";

const fleet = 10_000;

/** Processor time of computing a unit's health anew after one more day, times ten thousand. Reading the record from the
 *  store isn't in it. */
export function oneMoreDay({ quick, seed }: BenchOptions): Row {
  const units = quick ? 4 : 20;
  const lives = Array.from({ length: units }, (_, unit) => liveUnit(`${seed}/day/${unit}`, { days: 30 }));
  for (const lived of lives) healthAt(lived, fleetStart + 29 * day);
  const begun = process.cpuUsage().user;
  for (const lived of lives) healthAt(lived, fleetStart + 30 * day);
  const seconds = ((process.cpuUsage().user - begun) / 1e6 / units) * fleet;
  return {
    name: "health of 10,000 units brought up to date for one more day, one core",
    value: round(seconds, 0),
    unit: "s",
    bar: "< 60",
    holds: seconds < 60,
    beside: `from ${units} units; each is computed anew from its last 28 days, so the cost is set by those and not by the new day alone`,
  };
}
