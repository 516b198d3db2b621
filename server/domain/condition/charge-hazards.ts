import type { RecordedFault, UnitRecord } from "../record/unit-record.ts";
import {
  type Celsius,
  celsius,
  type Instant,
  type Millivolts,
  millisecondsIn,
  millivolts,
} from "../units.ts";

/** What of charging and cutting off needs somebody, each at its last sign; null: no sign. */
export interface ChargeHazards {
  /** Charging waited, or the cell was hot by the unit's own alarm. */
  readonly heat: Sign | null;
  /** Charging waits: the cell is below its limit. */
  readonly cold: Sign | null;
  /** The charger fed the cell although it was outside its limits. */
  readonly fedOutside: Sign | null;
  readonly earlyCutOff: { readonly at: Instant; readonly cell: Millivolts } | null;
  /** It was on charge while it said it was wet, or within an hour of it. */
  readonly wetOnCharge: { readonly at: Instant } | null;
}

interface Sign {
  readonly at: Instant;
  readonly cell: Celsius | null;
}

/** 0 to 45 degrees Celsius on charge: usual for lithium-ion cells (common practice, no source); the maker's win. */
const mayBeCharged = { from: 0, to: 45 };
/** At rest a cell still holds a fifth of its charge here (open-circuit table of Chen et al. 2020, J. Electrochem. Soc. 167
 *  080534, LG M50, 20 %: 3.485 V), and under load more: no cut-off is due. */
const emptyBelow = 3_485;
/** From here the air at the grid holds about all it can. Assumption. */
const wetFrom = 95;

export function chargeHazards({ powerEvents, faults, minutes }: ChargeRecord): ChargeHazards {
  const wait = (event: "charge-too-hot" | "charge-too-cold", codes: readonly RecordedFault["code"][]) => {
    const told = powerEvents.findLast((power) => power.event === event);
    const alarm = faults.findLast(({ code }) => codes.includes(code));
    if (alarm && (!told || alarm.at > told.at)) return { at: alarm.at, cell: celsiusOf(alarm) };
    return told ? { at: told.at, cell: told.temperature } : null;
  };
  const outside = powerEvents.findLast(
    ({ event, temperature }) =>
      (event === "charge-start" || event === "charge-end") &&
      (temperature < mayBeCharged.from || temperature > mayBeCharged.to),
  );
  return {
    heat: wait("charge-too-hot", ["charge-too-hot", "cell-hot"]),
    cold: wait("charge-too-cold", ["charge-too-cold"]),
    fedOutside: outside ? { at: outside.at, cell: outside.temperature } : null,
    earlyCutOff: earlyCutOff({ powerEvents, faults }),
    wetOnCharge: wetOnCharge({ faults, minutes }),
  };
}

/** @param days oldest first */
export function latestHazards(days: readonly ChargeHazards[]): ChargeHazards {
  const latest = <Of extends keyof ChargeHazards>(kind: Of): ChargeHazards[Of] | null =>
    days.findLast((day) => day[kind] !== null)?.[kind] ?? null;
  return {
    heat: latest("heat"),
    cold: latest("cold"),
    fedOutside: latest("fedOutside"),
    earlyCutOff: latest("earlyCutOff"),
    wetOnCharge: latest("wetOnCharge"),
  };
}

type ChargeRecord = Pick<UnitRecord, "powerEvents" | "faults" | "minutes">;

function earlyCutOff({ powerEvents, faults }: Pick<ChargeRecord, "powerEvents" | "faults">) {
  const told = powerEvents.flatMap(({ event, at, cell }) => (event === "cut-off" ? [{ at, cell }] : []));
  const alarms = faults.flatMap(({ code, at, value }) =>
    code === "battery-cut-off" && value !== undefined ? [{ at, cell: millivolts(value) }] : [],
  );
  const early = [...told, ...alarms].filter(({ cell }) => cell >= emptyBelow).sort((a, b) => a.at - b.at);
  return early.at(-1) ?? null;
}

function wetOnCharge({ faults, minutes }: Pick<ChargeRecord, "faults" | "minutes">) {
  const alarms = faults.filter(({ code }) => code === "wet").map(({ at }) => at);
  const last = minutes.findLast(
    ({ at, power, humidity }) =>
      power === "charging" &&
      ((humidity !== undefined && humidity >= wetFrom) ||
        alarms.some((wet) => Math.abs(at - wet) <= millisecondsIn.hour)),
  );
  return last ? { at: last.at } : null;
}

const celsiusOf = ({ value }: RecordedFault): Celsius | null =>
  value === undefined ? null : celsius(value / 10);
