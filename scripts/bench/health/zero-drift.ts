import type { Fault } from "../../simulated-cushions/faults.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { foundAt } from "./dead-zones.ts";
import type { Alarms } from "./false-alarms.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import { type BenchOptions, middleOf, type Row, round } from "./rows.ts";

const startsAfter = 12;
const longest = 30;

/** The cells at the rear creep by 2 % of span a month, so that the mean of the whole grid moves by less than half of it. */
export function zeroDrift({ quick, seed }: BenchOptions, { raised, unitYears }: Alarms): Row {
  const units = quick ? 6 : 60;
  const from = fleetStart + startsAfter * day;
  const fault: Fault = { kind: "zero-drift", from, countsPerDay: (0.02 * 255) / 30, upTo: 99 };
  const delays = Array.from({ length: units }, (_, unit) => {
    const lived = liveUnit(`${seed}/drift/${unit}`, { days: startsAfter + longest, faults: () => [fault] });
    for (let days = 1; days <= longest; days++)
      if (foundAt(lived, from + days * day).some(({ kind }) => kind === "zero-drift")) return days;
    return Number.POSITIVE_INFINITY;
  });
  const delay = middleOf(delays);
  const falseAlarms = (raised.get("zero-drift") ?? 0) / unitYears;
  return {
    name: "zero drift of 2 % of span a month, median delay",
    value: round(delay, 1),
    unit: "days",
    bar: "<= 14, at most 1 false alarm in 2 unit-years",
    holds: delay <= 14 && falseAlarms <= 0.5,
    beside: `${units} units, ${delays.filter((each) => each === Number.POSITIVE_INFINITY).length} never found; false alarms ${round(falseAlarms)} a unit-year`,
  };
}
