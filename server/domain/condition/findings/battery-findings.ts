import type { BatteryHealth } from "../../battery/battery-health.ts";
import { normalCdf } from "../../statistics/normal.ts";
import { type Instant, millisecondsIn, probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** Capacity kept at which a cell is conventionally worn out (80 % of rated; makers' data sheets). */
const wornBelow = 0.8;
/** Even if a charge surely lasts shorter, somebody may sit longer. Assumption. */
const ceiling = 0.95;
const ninetyPercent = 1.645;
/** Probability from which a finding is worth a row. Our convention. */
const worthSaying = 0.8;
/** The unit measures its own cut-off. Assumption: hardly ever wrong. */
const cutOffBelieved = probability(0.97);
const lately = 14 * 24 * millisecondsIn.hour;

export function batteryFindings({ battery, assessedAt }: UnitHealth): FoundNow[] {
  if (!battery) return [];
  return [
    ...fade(battery),
    ...flat(battery, assessedAt),
    ...flatSoon(battery),
    ...resistance(battery),
    ...leak(battery),
  ];
}

function fade(battery: BatteryHealth): FoundNow[] {
  const shorter = shorterEndurance(battery);
  return shorter.length > 0 ? shorter : lowCapacity(battery);
}

/** Worn already when it came: its charges never lasted longer, but it holds less than its rating. With a draw that nobody
 *  described it can't be told from a unit that draws more than is assumed. */
function lowCapacity({ capacity }: BatteryHealth): FoundNow[] {
  const first = capacity?.readings[0];
  if (!capacity?.isDrawDescribed || !first) return [];
  const { low, best, high } = capacity.ofRated;
  const worn = normalCdf((wornBelow - best) / ((high - low) / 2 / ninetyPercent));
  if (worn < worthSaying) return [];
  return [
    {
      kind: "capacity-fade",
      where: "",
      level: "act-soon",
      probability: probability(Math.min(worn, ceiling)),
      since: first.at,
      sentence: `The battery holds ${Math.round(100 * low)} to ${Math.round(100 * high)} % of its rated charge, by what it drew between two readings at rest.`,
      mistakenFor: "a unit that draws more than its description says",
      settledBy: "A discharge on the bench: below 80 % of rated is worn.",
    },
  ];
}

/** A call in time costs less than a night without a record. */
function flatSoon({ untilCharged, chargeAt }: BatteryHealth): FoundNow[] {
  if (untilCharged === null || untilCharged.flatBefore === null || untilCharged.usualWait === null) return [];
  const { flatBefore, usualWait, hoursToEmpty } = untilCharged;
  if (flatBefore < worthSaying) return [];
  return [
    {
      kind: "flat-soon",
      where: "",
      level: "watch",
      probability: flatBefore,
      since: chargeAt,
      sentence: `Its charge lasts ${Math.round(hoursToEmpty.low)} to ${Math.round(hoursToEmpty.high)} h more; by habit the next charge is about ${Math.round(usualWait)} h away.`,
      mistakenFor: "somebody who is about to charge it early",
      settledBy: "A call to ask that it is put on the charger tonight.",
    },
  ];
}

function shorterEndurance({ endurance }: BatteryHealth): FoundNow[] {
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

/** Within the four weeks judged a cell hardly ages: a rise as great as this is a fault. Assumption; twice the resistance
 *  of a new cell is a usual end of life (common practice, no source). */
const risenBy = 1.5;
const doubled = 2;

function resistance({ resistance: steps }: BatteryHealth): FoundNow[] {
  if (!steps?.ratio || steps.ratioDeviation <= 0) return [];
  const { now, nowSince, ratio, ratioDeviation } = steps;
  const risen = normalCdf((ratio.best - risenBy) / ratioDeviation);
  if (risen < worthSaying) return [];
  return [
    {
      kind: "resistance-rise",
      where: "",
      level: ratio.best >= doubled ? "act-soon" : "watch",
      probability: probability(Math.min(risen, ceiling)),
      since: nowSince,
      sentence: `Its cell and leads resist ${ratio.low.toFixed(1)} to ${ratio.high.toFixed(1)} times as much as at first (now ${Math.round(1_000 * now)} mΩ at 25 °C, by the voltage steps at its radio bursts). It may switch off with charge left.`,
      mistakenFor: "a loose battery plug, or a cell much colder than its own reading says",
      settledBy:
        "The bench: the plug reseated, then the battery check again; if it stays high, another cell.",
    },
  ];
}

/** Share of a full charge a month above which a cell leaks: a sound lithium-ion cell loses some 2 %, its protection and
 *  sleeping electronics up to 3 % more (common practice, no source). */
const mostLost = 0.05;
/** A cell called leaky is taken out of service: not on a likelihood. Our convention. */
const beyondDoubt = 0.95;

function leak({ selfDischarge }: BatteryHealth): FoundNow[] {
  const first = selfDischarge?.times[0];
  if (!selfDischarge || !first) return [];
  const { perMonth, deviation } = selfDischarge;
  const leaks = normalCdf((perMonth.best - mostLost) / deviation);
  if (leaks < beyondDoubt) return [];
  return [
    {
      kind: "self-discharge",
      where: "",
      level: "act-soon",
      probability: probability(Math.min(leaks, ceiling)),
      since: first.start,
      sentence: `Switched off, it loses ${Math.round(100 * perMonth.low)} to ${Math.round(100 * perMonth.high)} % of a full charge a month; a sound one loses up to 5 %.`,
      mistakenFor: "electronics that stay awake when it is switched off, or readings in the cold",
      settledBy:
        "The bench: charge it, switch it off, let it rest 14 days and read its voltage again. If it fell, the same with the battery plug out: a cell that falls alone is done.",
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
