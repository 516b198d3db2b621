import { probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** The empty reading may creep this far, as a share of span. Assumption; the maker's tolerance wins. */
const offsetTolerance = 0.02;
/** Chance that a unit's empty reading drifts in a month, before looking. Assumption. */
const prior = 0.05;
/** Room, object and moisture do the same, and temperature is not taken out yet. Assumption. */
const ceiling = 0.9;

export function driftFindings({ drift }: UnitHealth): FoundNow[] {
  if (drift?.kind !== "charted" || drift.drift.leftLimitsAt === null) return [];
  const { chart, points, smoothedSigma, slopePerMonth, leftLimitsAt } = drift.drift;
  const moved = (chart.smoothed.at(-1) ?? chart.centre) - chart.centre;
  return [
    {
      kind: "zero-drift",
      where: "",
      level: Math.abs(moved) > offsetTolerance ? "act-soon" : "watch",
      probability: probability(driftProbability(moved / smoothedSigma, points.length)),
      since: leftLimitsAt,
      sentence: `The empty reading has moved by ${signed(moved)} of span since its first week (${signed(slopePerMonth)} a month). Tolerance is ${100 * offsetTolerance} % (assumption; the maker’s wins).`,
      mistakenFor: "a warmer room, an object left on the seat, or moisture",
      settledBy: "Empty frames at two temperatures on the bench.",
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
