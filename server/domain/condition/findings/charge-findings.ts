import { type Instant, millisecondsIn, probability } from "../../units.ts";
import type { ChargeHazards } from "../charge-hazards.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** The unit measures these itself. Assumptions: a hot or wet cell is hardly ever imagined; a voltage a little less so. */
const believed = {
  outside: probability(0.95),
  wet: probability(0.9),
  cutOff: probability(0.85),
  cold: probability(0.95),
};
/** A charger left in the cold is put right once; what was so long ago says nothing of today. Assumption. */
const lately = 14 * 24 * millisecondsIn.hour;

/** What is to be feared of a cell on charge, beyond heat. The words are the usual cautions for lithium cells (common
 *  practice); local policy and the maker's instructions win. */
export function chargeFindings({ charge, assessedAt }: UnitHealth): FoundNow[] {
  return [...wetOnCharge(charge), ...outside(charge), ...cutOff(charge), ...cold(charge, assessedAt)];
}

const degrees = (cell: number | null): string =>
  cell === null ? "" : ` (the cell at ${Math.round(cell)} °C)`;

function wetOnCharge({ wetOnCharge: sign }: ChargeHazards): FoundNow[] {
  if (sign === null) return [];
  return [
    {
      kind: "wet-on-charge",
      where: "",
      level: "act-now",
      probability: believed.wet,
      since: sign.at,
      sentence:
        "It was wet while it was being charged. Unplug it if that is safe, keep it off the seat and bed, do not open or post it. Fire: leave and call the emergency service.",
      mistakenFor: "a long warm sit on the charger",
      settledBy:
        "A call now, kindly: continence may be behind it. Then an empty reading and a look at the bench.",
    },
  ];
}

function outside({ fedOutside: sign }: ChargeHazards): FoundNow[] {
  if (sign === null) return [];
  return [
    {
      kind: "charge-outside-limits",
      where: "",
      level: "act-now",
      probability: believed.outside,
      since: sign.at,
      sentence: `It was charged outside its limits${degrees(sign.cell)}; 0 to 45 °C is usual. Stop charging it until it has been looked at.`,
      mistakenFor: "a temperature part that reads wrong",
      settledBy: "The bench: its temperature part against a thermometer, then its charger.",
    },
  ];
}

function cutOff({ earlyCutOff: sign }: ChargeHazards): FoundNow[] {
  if (sign === null) return [];
  return [
    {
      kind: "early-cut-off",
      where: "",
      level: "act-now",
      probability: believed.cutOff,
      since: sign.at,
      sentence: `It cut off at ${(sign.cell / 1_000).toFixed(2)} V, with charge left in the cell. The cell, its connection or its protection may be damaged: stop charging it, do not press or open it.`,
      mistakenFor: "a loose battery plug",
      settledBy: "A look by phone for swelling, without pressing; then the bench, never by an ordinary van.",
    },
  ];
}

function cold({ cold: sign }: ChargeHazards, assessedAt: Instant): FoundNow[] {
  if (sign === null || sign.at < assessedAt - lately) return [];
  return [
    {
      kind: "charge-cold",
      where: "",
      level: "act-soon",
      probability: believed.cold,
      since: sign.at,
      sentence: `Charging waits: the cell is too cold${degrees(sign.cell)}. It stays uncharged, and soon records nothing.`,
      mistakenFor: "a charger that doesn’t charge",
      settledBy: "A call: charge it in a room that is warm to sit in. It must not be warmed on a heater.",
    },
  ];
}
