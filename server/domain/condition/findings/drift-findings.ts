import { offsetTolerance } from "../../drift/empty-offset-drift.ts";
import { probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** Chance that a unit's empty reading drifts in a month, before looking. Assumption. */
const prior = 0.05;
/** Below this it isn't worth a row. Our convention. */
const worthSaying = 0.5;
/** An object and moisture do the same, and temperature is taken out only as well as the record tells it. Assumption. */
const ceiling = 0.9;

export const driftFindings = (health: UnitHealth): FoundNow[] => [...zero(health), ...gainOrWeight(health)];

function zero({ drift }: UnitHealth): FoundNow[] {
  if (drift?.kind !== "charted" || drift.drift.leftLimitsAt === null) return [];
  const { chart, points, smoothedSigma, slopePerMonth, leftLimitsAt } = drift.drift;
  const moved = (chart.smoothed.at(-1) ?? chart.centre) - chart.centre;
  const likely = driftProbability(moved / smoothedSigma, points.length);
  if (likely < worthSaying) return [];
  return [
    {
      kind: "zero-drift",
      where: "",
      level: Math.abs(moved) > offsetTolerance ? "act-soon" : "watch",
      probability: probability(likely),
      since: leftLimitsAt,
      sentence: `The empty reading has moved by ${signed(moved)} of span since its first week (${signed(slopePerMonth)} a month). Tolerance is ${100 * offsetTolerance} % (assumption; the maker’s wins).`,
      mistakenFor: "an object left on the seat, moisture, or a room much warmer than before",
      settledBy: "Empty frames at two temperatures on the bench.",
    },
  ];
}

/** Change of load worth a row: less is what people weigh more or less. Assumption. */
const loadTolerance = 0.05;
/** That the load changed is sure; what made it is not. Assumption. */
const loadBelieved = probability(0.9);

function gainOrWeight({ load }: UnitHealth): FoundNow[] {
  if (!load || load.leftLimitsAt === null || Math.abs(load.kept - 1) < loadTolerance) return [];
  return [
    {
      kind: "gain-or-weight",
      where: "",
      level: "watch",
      probability: loadBelieved,
      since: load.leftLimitsAt,
      sentence: `The settled load is ${signed(load.kept - 1)} against the first week. Gain or weight: only the bench or the scales can tell.`,
      mistakenFor: "weight gained or lost, another chair, backrest or footrest height",
      settledBy:
        "Known weights on the bench, or the person’s own scales. After a swap: a lower load that stays points to the person.",
    },
  ];
}

/** Posterior of "it moved" against "it stays", by the Bayes factor with unit information exp(z²/2)/√(n + 1).
 *  Source: Kass and Wasserman 1995, J Am Stat Assoc 90:928 */
function driftProbability(z: number, n: number): number {
  const logOdds = Math.log(prior / (1 - prior)) + (z * z) / 2 - Math.log(n + 1) / 2;
  return Math.min(ceiling, 1 / (1 + Math.exp(-logOdds)));
}

function signed(share: number): string {
  const size = Math.abs(100 * share).toFixed(1);
  return size === "0.0" ? "0.0 %" : `${share > 0 ? "+" : "−"}${size} %`;
}
