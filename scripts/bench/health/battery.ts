import { batteryDay } from "../../../server/domain/battery/battery-day.ts";
import { type BatteryHealth, batteryHealth } from "../../../server/domain/battery/battery-health.ts";
import { type CellDescription, usualDraw } from "../../../server/domain/battery/cell-description.ts";
import type { RecordedMinute } from "../../../server/domain/record/unit-record.ts";
import { milliampHours, millivolts } from "../../../server/domain/units.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";
import { day, hour } from "../../simulated-cushions/wall-clock.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import { recordUntil } from "./record-of.ts";
import { type BenchOptions, type Row, round, shareOf } from "./rows.ts";
import { tooFewToTell } from "./too-few-to-tell.ts";

const rated = 1_200;
/** The simulated wear of one full cycle, and about how many a day there are. */
const wearPerDay = (0.2 / 600) * 0.17;

/** Each unit's converter and make of cell read a little high or low: 15 mV, one standard deviation. The simulated gauge
 *  itself is perfect. */
function misread(minutes: readonly RecordedMinute[], name: string): RecordedMinute[] {
  const off = randomFrom(`${name}/gauge`).normal(0, 15);
  return minutes.map((minute) => ({ ...minute, cell: millivolts(Math.round(minute.cell + off)) }));
}

/** No unit draws just what its model's description says: 1.5 % more or less, one standard deviation, unknown to the
 *  console. Here the description is off instead of the unit, which comes to the same. */
function describedCell(name: string): CellDescription {
  const off = 1 + randomFrom(`${name}/draw`).normal(0, 0.015);
  const { loaded, empty, searching } = usualDraw;
  const draw = { loaded: loaded * off, empty: empty * off, searching: searching * off };
  return { rated: milliampHours(rated), draw, isDrawDescribed: true };
}

/** What the console makes of these minutes, kept day by day as it keeps them. */
function batteryOf(minutes: readonly RecordedMinute[], name: string): BatteryHealth | null {
  const days = new Map<number, RecordedMinute[]>();
  for (const minute of minutes) {
    const index = Math.floor((minute.at - fleetStart) / day);
    const list = days.get(index);
    if (list) list.push(minute);
    else days.set(index, [minute]);
  }
  return batteryHealth(
    [...days.values()].map((each) => batteryDay(each)),
    { faults: [], boots: [], holes: [] },
    describedCell(name),
  );
}

export function capacityAfterTenCharges({ quick, seed }: BenchOptions): Row {
  const units = quick ? 12 : 100;
  let told = 0;
  let close = 0;
  let covered = 0;
  const errors: number[] = [];
  for (let unit = 0; unit < units; unit++) {
    const name = `${seed}/capacity/${unit}`;
    const health = randomFrom(`${name}/health`).uniform(0.7, 1);
    const lived = liveUnit(name, {
      days: 24,
      battery: { ratedMilliampHours: rated, health, charge: 0.9 },
    });
    const charges = lived.truth.events.filter(({ what }) => what === "charger-in");
    const end = charges[10]?.at ?? fleetStart + 24 * day;
    const capacity = batteryOf(misread(recordUntil(lived.record, end).minutes, name), name)?.capacity;
    if (!capacity) continue;
    told++;
    const error = Math.abs(capacity.ofRated.best / health - 1);
    errors.push(error);
    if (error <= 0.05) close++;
    if (capacity.ofRated.low <= health && health <= capacity.ofRated.high) covered++;
  }
  const value = shareOf(close, units);
  return {
    name: "capacity within 5 % after ten ordinary charges",
    value: round(value),
    unit: "share of units",
    bar: ">= 0.9",
    holds: value >= 0.9,
    beside: `${units} units, told for ${told}; its 90 % interval covers ${round(shareOf(covered, told))}; each unit draws 1.5 % more or less than described, one standard deviation${tooFewToTell(close, units, [0.9])}`,
  };
}

const coverageRow = (what: string, covered: number, of: number, beside: string): Row => {
  const value = shareOf(covered, of);
  return {
    name: `90 % intervals cover the truth: ${what}`,
    value: round(value),
    unit: "share",
    bar: "0.86 to 0.94",
    holds: value >= 0.86 && value <= 0.94,
    beside: `${beside}${tooFewToTell(covered, of, [0.86, 0.94])}`,
  };
};

/** The charger stays out from a day nobody knows beforehand; the truth is when the unit then fell silent. */
export function hoursToEmpty({ quick, seed }: BenchOptions): Row {
  const units = quick ? 12 : 150;
  let of = 0;
  let covered = 0;
  let below = 0;
  for (let unit = 0; unit < units; unit++) {
    const name = `${seed}/empty/${unit}`;
    const from = fleetStart + 20 * day;
    const lived = liveUnit(name, {
      days: 36,
      person: (drawn) => ({ ...drawn, changes: [{ from, until: null, charging: { atBedtime: 0 } }] }),
    });
    const asked = from + randomFrom(`${name}/asked`).uniform(12, 60) * hour;
    const flat = lived.truth.events.find(({ what, at }) => what === "ran-flat" && at > asked);
    const until = batteryOf(misread(recordUntil(lived.record, asked).minutes, name), name)?.untilCharged;
    if (!flat || !until) continue;
    const truth = (flat.at - asked) / hour;
    of++;
    if (until.hoursToEmpty.low <= truth && truth <= until.hoursToEmpty.high) covered++;
    if (truth < until.hoursToEmpty.low) below++;
  }
  return coverageRow("hours to empty", covered, of, `${of} of ${units} units; emptier than told in ${below}`);
}

/** A cell that wears by a steady share a day, and the day it comes down to 80 % of rated. */
export function endOfLife({ quick, seed }: BenchOptions): Row {
  const units = quick ? 12 : 150;
  let of = 0;
  let covered = 0;
  let open = 0;
  for (let unit = 0; unit < units; unit++) {
    const name = `${seed}/worn/${unit}`;
    const random = randomFrom(`${name}/wear`);
    const sharePerDay = random.uniform(0.003, 0.009);
    const health = random.uniform(0.92, 1);
    const lived = liveUnit(name, {
      days: 28,
      battery: { ratedMilliampHours: rated, health, charge: 0.9 },
      faults: () => [{ kind: "capacity-fade", from: fleetStart, sharePerDay, downTo: 0.3 }],
    });
    const end = fleetStart + 28 * day;
    const worn = batteryOf(misread(recordUntil(lived.record, end).minutes, name), name)?.capacity?.wornAt;
    if (!worn) continue;
    const truth = fleetStart + ((health - 0.8) / (sharePerDay + wearPerDay)) * day;
    of++;
    if (worn.latest === null) open++;
    if (worn.earliest <= truth && (worn.latest === null || truth <= worn.latest)) covered++;
  }
  return coverageRow("end-of-life date", covered, of, `${of} of ${units} units; no latest date in ${open}`);
}
