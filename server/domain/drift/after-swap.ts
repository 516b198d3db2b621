import type { UnitSerial } from "../ids.ts";
import { median } from "../statistics/median.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import type { LoadChange } from "./settled-load.ts";

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

/** What the cushion that came says of a load that had fallen on the one that went. */
export interface LoadAfterSwap {
  /** Shares of the load before it fell. */
  readonly fallenTo: number;
  readonly reads: number;
  /** Days of the cushion that came. */
  readonly days: number;
  /** That it is how the person sits or what they weigh. */
  readonly person: Probability;
}

/** The same with the units and the day. Names nobody. */
export interface ToldBySwap extends LoadAfterSwap {
  readonly gone: UnitSerial;
  readonly came: UnitSerial;
  readonly swappedAt: Instant;
}

/** People weigh more or less from day to day. Assumption. */
const fewestDays = 3;
/** A fall less than this hides in what two sound cushions differ by. */
const leastFall = 2 * betweenUnits;

/** @param gone what the load did on the cushion that went, to its end
 *  @param loads kilograms, settled, one a day of the cushion that came
 *  @returns null where the load hadn't fallen, or too few days are on record */
export function loadAfterSwap(gone: LoadChange, loads: readonly number[]): LoadAfterSwap | null {
  const afterSwap = median(loads);
  if (gone.leftLimitsAt === null || gone.kept > 1 - leastFall) return null;
  if (afterSwap === null || loads.length < fewestDays) return null;
  return {
    fallenTo: gone.kept,
    reads: afterSwap / gone.first,
    days: loads.length,
    person: personNotCushion({ before: gone.first, fallen: gone.now, afterSwap }),
  };
}
