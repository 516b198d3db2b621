import { median } from "../statistics/median.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import { dot } from "./mirror-direction.ts";
import { perShape } from "./per-shape.ts";
import { cellsAsPlaced, type Placing, possiblePlacings } from "./symmetries.ts";

/** An insert that lies otherwise than it used to: the load comes out turned or mirrored. */
export interface InsertTurned {
  readonly placing: Exclude<Placing, "as-before">;
  readonly probability: Probability;
  readonly since: Instant;
  readonly agreeing: number;
}

/** How well a way of lying can be told from the old one, by the baseline sits themselves: a sit of the baseline gains
 *  −mean with this spread by it. `mean` 0: it can't, as a mirror can't of a body that sits wholly evenly. */
export interface WayTold {
  readonly mean: number;
  readonly spread: number;
}

/** A plain mirror is a matter of a few per cent; a turn no posture makes. How much of a sit one odd posture may decide:
 *  assumptions. */
const mostOneSitSays = (placing: Placing): number => (placing === "mirrored" ? 4 : 8);
/** Chance that an insert was put back otherwise in the time looked at, each way alike. Assumption. */
const prior = 0.002;
/** Somebody may change the side they sit to, which looks like a mirror. Assumption. */
const ceiling = 0.97;
const sideStepsTried = [-0.5, -0.25, 0, 0.25, 0.5] as const;

export const wrongPlacings = perShape((shape): readonly InsertTurned["placing"][] =>
  possiblePlacings(shape).filter((placing) => placing !== "as-before"),
);

const wrongOrders = perShape((shape): readonly Uint16Array[] =>
  wrongPlacings(shape).map((placing) => Uint16Array.from(cellsAsPlaced(placing, shape))),
);

/** Shares of the whole: how heavy somebody is doesn't matter. */
export function normalised(response: Float64Array): Float32Array {
  let whole = 0;
  for (const count of response) whole += Math.max(0, count);
  return Float32Array.from(response, (count) => (whole > 0 ? Math.max(0, count) / whole : 0));
}

export function meanOf(maps: readonly Float32Array[]): Float32Array {
  const mean = new Float64Array(maps[0]?.length ?? 0);
  for (const map of maps)
    for (let cell = 0; cell < mean.length; cell++)
      mean[cell] = (mean[cell] ?? 0) + (map[cell] ?? 0) / maps.length;
  return Float32Array.from(mean);
}

/** The mean map of the baseline, and by `mirrorDirection` how to tell its sides from each other. */
export interface HowItLay {
  readonly mean: Float32Array;
  readonly sides: Float32Array;
}

/** How much better each wrong way explains a map than the old one: the fall of the least squared difference.
 *  @returns by `wrongPlacings` */
export function placingGains(
  map: Float32Array,
  { mean: baseline, sides }: HowItLay,
  shape: GridShape,
): Float64Array {
  const asBefore = misfit(map, baseline, shape);
  const moved = new Float32Array(baseline.length);
  return Float64Array.from(wrongOrders(shape), (order, way) => {
    if (wrongPlacings(shape)[way] === "mirrored") return dot(sides, map);
    for (let cell = 0; cell < moved.length; cell++) moved[cell] = baseline[order[cell] ?? 0] ?? 0;
    return asBefore - misfit(map, moved, shape);
  });
}

/** Standard errors above none from which a way is told from the old one at all. Assumption. */
const surelyTold = 3;

/** @param gains of the baseline's own sits */
export function waysTold(gains: readonly Float64Array[], shape: GridShape): WayTold[] {
  return wrongPlacings(shape).map((_, way) => {
    const own = gains.map((each) => each[way] ?? 0);
    const mean = -own.reduce((sum, gain) => sum + gain, 0) / own.length;
    if (mean <= 0) return { mean: 0, spread: 1 };
    const spread = Math.max(
      mean / 10,
      1.4826 * (median(own.map((gain) => Math.abs(gain + mean))) ?? 0),
      Math.sqrt(own.reduce((sum, gain) => sum + (gain + mean) ** 2, 0) / (own.length - 1)),
    );
    const isTold = (mean / spread) * Math.sqrt(own.length) > surelyTold;
    return isTold ? { mean, spread } : { mean: 0, spread };
  });
}

export interface PlacedSit {
  readonly at: Instant;
  readonly gains: Float64Array;
}

/** @param sits since the baseline, oldest first */
export function insertPlacing(
  sits: readonly PlacedSit[],
  ways: readonly WayTold[],
  shape: GridShape,
): InsertTurned | null {
  let best: InsertTurned | null = null;
  let bestFit = 0;
  wrongPlacings(shape).forEach((placing, way) => {
    const told = ways[way];
    const found = told ? turnedSince(sits, way, told, mostOneSitSays(placing)) : null;
    if (!found) return;
    // Several wrong ways fit better than the old one: the best fitting is told.
    const fit = sits.slice(-found.agreeing).reduce((sum, { gains }) => sum + (gains[way] ?? 0), 0);
    if (best === null || fit > bestFit) best = { placing, ...found };
    bestFit = Math.max(bestFit, fit);
  });
  return best;
}

/** Log likelihood ratios sit by sit, and the start from which they add up to most (a CUSUM; Page 1954, Biometrika
 *  41:100). In the baseline the gain has mean −m and spread s; of an insert that lies this way, +m and s. */
function turnedSince(
  sits: readonly PlacedSit[],
  way: number,
  { mean, spread }: WayTold,
  most: number,
): Omit<InsertTurned, "placing"> | null {
  if (mean <= 0) return null;
  let sum = 0;
  let since: number | null = null;
  sits.forEach(({ gains }, sit) => {
    const says = Math.max(-most, Math.min(most, (2 * (gains[way] ?? 0) * mean) / spread ** 2));
    if (sum + says <= 0) {
      sum = 0;
      since = null;
      return;
    }
    since ??= sit;
    sum += says;
  });
  if (since === null) return null;
  const agreeing = sits.length - since;
  const at = sits[since]?.at;
  const turned = 1 / (1 + Math.exp(-(Math.log(prior / (1 - prior)) + sum)));
  if (at === undefined || turned < 0.5) return null;
  return { probability: probability(Math.min(ceiling, turned)), since: at, agreeing };
}

/** Least squared difference over a few steps sideways: nobody sits down in the same place twice. */
function misfit(map: Float32Array, model: Float32Array, { rows, columns }: GridShape): number {
  let least = Number.POSITIVE_INFINITY;
  for (const step of sideStepsTried) {
    const share = Math.abs(step);
    const side = Math.sign(step);
    let misfits = 0;
    for (let row = 0; row < rows; row++) {
      const first = row * columns;
      for (let column = 0; column < columns; column++) {
        const beside = column - side;
        const from = beside < 0 || beside >= columns ? 0 : (model[first + beside] ?? 0);
        const off = (map[first + column] ?? 0) - (model[first + column] ?? 0) * (1 - share) - from * share;
        misfits += off * off;
      }
    }
    if (misfits < least) least = misfits;
  }
  return least;
}
