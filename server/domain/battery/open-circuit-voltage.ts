import type { Interval, Millivolts } from "../units.ts";

/** Rested voltage of a lithium-ion cell by state of charge, every 5 %.
 *  Source: electrode functions of Chen et al. 2020, J Electrochem Soc 167 080534 (CC BY), LG M50 cell, 2.5 V to 4.2 V.
 *  Another make of cell differs by tens of millivolts mid-curve: that is what the band is for. */
const restedMillivolts = [
  2500, 3109, 3296, 3434, 3485, 3529, 3581, 3629, 3667, 3705, 3751, 3798, 3841, 3890, 3948, 3994, 4042, 4081,
  4097, 4124, 4200,
] as const;
const step = 0.05;

/** How far a rested reading may be from the table: converter error, a trickle of load, temperature and make.
 *  Assumption: 25 mV covers nine readings in ten. */
const usualTolerance = 25;
/** The same once the converter has been held against a full charge: what is left is temperature, load and make.
 *  Assumption. */
export const anchoredTolerance = 10;

/** @param cell rested voltage: under a load or on charge it misleads
 *  @param tolerance mV that cover nine readings in ten
 *  @returns state of charge as a band, each 0 to 1 */
export function stateOfCharge(cell: Millivolts, tolerance = usualTolerance): Interval {
  return { low: lookUp(cell - tolerance), best: lookUp(cell), high: lookUp(cell + tolerance), level: 0.9 };
}

function lookUp(millivolts: number): number {
  if (millivolts <= restedMillivolts[0]) return 0;
  for (let upper = 1; upper < restedMillivolts.length; upper++) {
    const high = restedMillivolts[upper] ?? 0;
    const low = restedMillivolts[upper - 1] ?? 0;
    if (millivolts <= high) return step * (upper - 1 + (millivolts - low) / (high - low));
  }
  return 1;
}

/** How doubtful a state of charge is that was read at rest: the doubt of the voltage over the slope of the table there.
 *  On the plateau between 85 and 95 % ten millivolts are three times as much charge as further down.
 *  @param charge 0 to 1; @param deviation mV, one standard deviation
 *  @returns a share of charge, one standard deviation */
export function chargeDeviation(charge: number, deviation: number): number {
  const from = Math.max(0, charge - step);
  const to = Math.min(1, charge + step);
  const rise = (millivoltsAt(to) - millivoltsAt(from)) / (to - from);
  return deviation / rise;
}

function millivoltsAt(charge: number): number {
  const place = Math.min(restedMillivolts.length - 1, charge / step);
  const lower = restedMillivolts[Math.floor(place)] ?? restedMillivolts[0];
  const upper = restedMillivolts[Math.ceil(place)] ?? lower;
  return lower + (upper - lower) * (place - Math.floor(place));
}
