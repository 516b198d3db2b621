import { median } from "../statistics/median.ts";
import type { SitSummary } from "./sit-summaries.ts";

/** How a loan's person sits, by their own record alone. */
export interface OwnSitting {
  readonly load: Measure;
  readonly right: Measure;
  readonly front: Measure;
  readonly sits: number;
}
export interface Measure {
  readonly middle: number;
  readonly spread: number;
}

/** Fewer sits know too little of a person. Assumption. */
export const fewestSits = 12;
/** Nobody sits the same to the gram: below these a spread is the sensor's. Assumptions. */
const leastSpread = { load: 0.02, centre: 2 } as const;

/** Middle and spread of each measure, by medians, so that a few odd sits don't move them (1.4826 x the median absolute
 *  deviation estimates a normal standard deviation; Rousseeuw & Croux 1993, J Am Stat Assoc 88:1273).
 *  @returns null where there are fewer than `fewestSits` */
export function ownSitting(sits: readonly SitSummary[]): OwnSitting | null {
  if (sits.length < fewestSits) return null;
  const load = measure(sits.map((sit) => sit.load));
  const right = measure(sits.map((sit) => sit.right));
  const front = measure(sits.map((sit) => sit.front));
  const wide = ({ middle, spread }: Measure, least: number) => ({ middle, spread: Math.max(spread, least) });
  return {
    load: wide(load, leastSpread.load * load.middle),
    right: wide(right, leastSpread.centre),
    front: wide(front, leastSpread.centre),
    sits: sits.length,
  };
}

function measure(values: readonly number[]): Measure {
  const middle = median(values) ?? 0;
  return { middle, spread: 1.4826 * (median(values.map((value) => Math.abs(value - middle))) ?? 0) };
}

/** How many of its spreads a value lies from the middle. */
export const apart = (value: number, { middle, spread }: Measure): number =>
  Math.abs(value - middle) / spread;
