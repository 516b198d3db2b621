import { type Probability, probability } from "../units.ts";

/** How far two sound cushions may differ under one person, as a share: gains of new units differ and people weigh a
 *  little more or less. Assumption. */
const betweenUnits = 0.04;

/** A load fell on one cushion, which was then swapped. If the fresh one keeps the lower load it points to the person; if
 *  the load is back, to the cushion that went.
 *  @param loads of one person, settled, in one unit of weight
 *  @returns chance that it was the person's weight, both alike before looking (Bayes' rule, normal spread of the logarithm) */
export function personNotCushion(loads: {
  readonly before: number;
  readonly fallen: number;
  readonly afterSwap: number;
}): Probability {
  const distance = (from: number): number => (Math.log(loads.afterSwap / from) / betweenUnits) ** 2 / 2;
  return probability(1 / (1 + Math.exp(distance(loads.fallen) - distance(loads.before))));
}
