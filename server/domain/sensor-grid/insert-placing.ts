import { median } from "../statistics/median.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import type { Sit } from "./sits.ts";
import { cellsAsPlaced, type Placing, possiblePlacings } from "./symmetries.ts";

/** An insert that lies otherwise than it used to: the load comes out turned or mirrored. */
export interface InsertTurned {
  readonly placing: Exclude<Placing, "as-before">;
  readonly probability: Probability;
  readonly since: Instant;
  readonly agreeing: number;
}

/** Sits that show how it used to lie, and how much of a sit one odd posture may decide. Assumptions. */
const baselineSits = 20;
const fewestBaseline = 8;
/** A plain mirror is a matter of a few per cent; a turn no posture makes. */
const mostOneSitSays = (placing: Placing): number => (placing === "mirrored" ? 4 : 8);
/** Chance that an insert was put back otherwise in the time looked at, each way alike. Assumption. */
const prior = 0.002;
/** Somebody may change the side they sit to, which looks like a mirror. Assumption. */
const ceiling = 0.97;
const sideStepsTried = [-0.5, -0.25, 0, 0.25, 0.5] as const;

/** Holds each sit against the baseline of this body on this grid, laid each of the ways it could lie. How well a way can
 *  be told from the old one is learned from the baseline sits themselves: for a body that sits wholly evenly, a mirror
 *  looks the same, and then nothing is said.
 *  @param sits oldest first */
export function insertPlacing(sits: readonly Sit[], shape: GridShape): InsertTurned | null {
  const maps = sits.map(({ response }) => normalised(response));
  const size = Math.min(baselineSits, Math.floor(maps.length * 0.7));
  if (size < fewestBaseline) return null;
  const base = maps.slice(0, size);
  const baseline = meanOf(base);
  const asBefore = misfits(maps, baseline, shape);
  let best: InsertTurned | null = null;
  let bestFit = 0;
  for (const placing of possiblePlacings(shape)) {
    if (placing === "as-before") continue;
    const order = cellsAsPlaced(placing, shape);
    const moved = order.map((cell) => baseline[cell] ?? 0);
    const gains = misfits(maps, moved, shape).map((misfit, sit) => (asBefore[sit] ?? 0) - misfit);
    const found = turnedSince(sits, gains, size, mostOneSitSays(placing));
    if (!found) continue;
    // Several wrong ways fit better than the old one: the best fitting is told.
    const fit = gains.slice(-found.agreeing).reduce((sum, gain) => sum + gain, 0);
    if (best === null || fit > bestFit) best = { placing, ...found };
    bestFit = Math.max(bestFit, fit);
  }
  return best;
}

/** Log likelihood ratios sit by sit, and the start from which they add up to most (a CUSUM; Page 1954, Biometrika
 *  41:100). In the baseline the gain has mean −m and spread s; of an insert that lies this way, +m and s. */
function turnedSince(
  sits: readonly Sit[],
  gains: readonly number[],
  size: number,
  most: number,
): Omit<InsertTurned, "placing"> | null {
  const base = gains.slice(0, size);
  const mean = -base.reduce((sum, gain) => sum + gain, 0) / base.length;
  if (mean <= 0) return null;
  const spread = Math.max(
    mean / 10,
    1.4826 * (median(base.map((gain) => Math.abs(gain + mean))) ?? 0),
    Math.sqrt(base.reduce((sum, gain) => sum + (gain + mean) ** 2, 0) / (base.length - 1)),
  );
  let sum = 0;
  let since: number | null = null;
  gains.forEach((gain, sit) => {
    if (sit < size) return;
    const says = Math.max(-most, Math.min(most, (2 * gain * mean) / spread ** 2));
    if (sum + says <= 0) {
      sum = 0;
      since = null;
      return;
    }
    since ??= sit;
    sum += says;
  });
  if (since === null) return null;
  const agreeing = gains.length - since;
  const at = sits[since]?.at;
  const turned = 1 / (1 + Math.exp(-(Math.log(prior / (1 - prior)) + sum)));
  if (at === undefined || turned < 0.5) return null;
  return { probability: probability(Math.min(ceiling, turned)), since: at, agreeing };
}

/** Shares of the whole: how heavy somebody is doesn't matter. */
function normalised(response: readonly number[]): number[] {
  const whole = response.reduce((sum, count) => sum + Math.max(0, count), 0);
  return response.map((count) => (whole > 0 ? Math.max(0, count) / whole : 0));
}

function meanOf(maps: readonly (readonly number[])[]): number[] {
  return (maps[0] ?? []).map(
    (_, cell) => maps.reduce((sum, map) => sum + (map[cell] ?? 0), 0) / Math.max(1, maps.length),
  );
}

/** Least squared difference over a few steps sideways: nobody sits down in the same place twice. */
function misfits(maps: readonly (readonly number[])[], model: readonly number[], shape: GridShape): number[] {
  const models = sideStepsTried.map((step) => movedSideways(model, step, shape));
  return maps.map((map) => {
    let least = Number.POSITIVE_INFINITY;
    for (const each of models) {
      let misfit = 0;
      for (let cell = 0; cell < map.length; cell++) misfit += ((map[cell] ?? 0) - (each[cell] ?? 0)) ** 2;
      least = Math.min(least, misfit);
    }
    return least;
  });
}

function movedSideways(model: readonly number[], step: number, { columns }: GridShape): number[] {
  const share = Math.abs(step);
  return model.map((own, cell) => {
    const column = (cell % columns) - Math.sign(step);
    const from = column < 0 || column >= columns ? 0 : (model[cell - Math.sign(step)] ?? 0);
    return own * (1 - share) + from * share;
  });
}
