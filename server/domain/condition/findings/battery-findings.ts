import type { BatteryHealth } from "../../battery/battery-health.ts";
import { normalCdf } from "../../statistics/normal.ts";
import { type Instant, millisecondsIn, probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** Capacity kept at which a cell is conventionally worn out (80 % of rated; makers' data sheets). */
const wornBelow = 0.8;
/** Even if a charge surely lasts shorter, somebody may sit longer. Assumption. */
const ceiling = 0.95;
/** Probability from which a finding is worth a row. Our convention. */
const worthSaying = 0.8;
/** The unit measures its own cut-off. Assumption: hardly ever wrong. */
const cutOffBelieved = probability(0.97);
const lately = 14 * 24 * millisecondsIn.hour;

export function batteryFindings({ battery, assessedAt }: UnitHealth): FoundNow[] {
  if (!battery) return [];
  return [...fade(battery), ...flat(battery, assessedAt)];
}

function fade({ endurance }: BatteryHealth): FoundNow[] {
  if (!endurance) return [];
  const worn = normalCdf((wornBelow - endurance.kept.best) / endurance.keptDeviation);
  if (worn < worthSaying) return [];
  return [
    {
      kind: "capacity-fade",
      where: "",
      level: "act-soon",
      probability: probability(Math.min(worn, ceiling)),
      since: endurance.recentSince,
      sentence: `A full charge lasts about ${Math.round(endurance.recent)} h; it lasted about ${Math.round(endurance.first)} h at first.`,
      mistakenFor: "somebody who now sits longer each day, or a relay that is often out of reach",
      settledBy: "A discharge on the bench: below 80 % of rated is worn.",
    },
  ];
}

function flat({ ranFlat }: BatteryHealth, assessedAt: Instant): FoundNow[] {
  const times = ranFlat.filter((at) => at > assessedAt - lately);
  const [first] = times;
  if (first === undefined) return [];
  return [
    {
      kind: "flat-battery",
      where: "",
      level: times.length > 1 ? "act-soon" : "watch",
      probability: cutOffBelieved,
      since: first,
      sentence: `The battery reached its cut-off ${times.length === 1 ? "once" : `${times.length} times`} in 14 days. Nothing is recorded while it is flat.`,
      mistakenFor: "somebody away from home, or a charger that doesn’t charge",
      settledBy: "A call about when and where it is charged; a known-good charger if it is.",
    },
  ];
}
