import type { LeanDirection, LeanVisibility } from "../condition/condition.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { wilsonInterval } from "../statistics/wilson.ts";
import type { Interval } from "../units.ts";
import { type CellState, works } from "./cell-states.ts";
import type { GridShape } from "./expected-response.ts";
import { seatSums, wouldReport } from "./reported-lean.ts";

/** Depths to try where a person's own good leans are too few: shares of half the load. Assumption: spread over what a
 *  complete lean usually reaches. */
const usualDepths = [0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9];
const fewestOwn = 10;
const mostReplayed = 40;

/** What a replay is worth in trials, however many leans are replayed: how a body really leans is not what is replayed.
 *  Of a guessed map it is less. Assumptions. */
const trialsAtMost = 12;
const trialsIfRestored = 5;

/** Of what leaves the sit bones in a forward lean, what arrives on the front of the seat; the rest goes to the feet.
 *  Assumption. */
const arrivesInFront = 0.7;

export const leanDirections = ["left", "right", "forward"] as const satisfies readonly LeanDirection[];
const mirrorOf = { left: "right", right: "left", forward: null } as const;
const kindOf = { left: "lean-left", right: "lean-right", forward: "lean-forward" } as const;

/** The grid as it is now, and what it is to be tried on. */
export interface Replay extends GridShape {
  readonly states: readonly CellState[];
  /** Counts above empty that a stuck cell adds whoever sits there. */
  readonly stuckAt: readonly number[];
  /** Resting maps as a sound grid reads them, at least one. */
  readonly rests: readonly (readonly number[])[];
  /** The grid was never seen sound: the maps are guessed where it is broken, and count for few trials. */
  readonly restored: boolean;
  /** Reliefs recorded before the first fault: what a sound grid reported, so that the answer is "of ten that would have
   *  been seen". */
  readonly soundReliefs: readonly RecordedRelief[];
  /** Those recorded since: good for the side that the fault spares. */
  readonly laterReliefs: readonly RecordedRelief[];
}

/** Of ten reliefs in each direction, how many would this grid report today? Replays leans of this person's own depths,
 *  on their own resting map, through the cells as they are now.
 *  @returns for each direction a share with a 90 % interval (Wilson), times ten */
export function leanVisibility(replay: Replay): LeanVisibility[] {
  return leanDirections.map((direction) => {
    const depths = depthsOf(direction, replay);
    const tries = replay.rests.flatMap((rest) => depths.map(sightOn(direction, rest, replay)));
    const trials = Math.min(depths.length, replay.restored ? trialsIfRestored : trialsAtMost);
    const share = tries.filter((seen) => seen).length / Math.max(1, tries.length);
    const outOfTen = timesTen(wilsonInterval(share, trials, 0.9));
    return { direction, outOfTen, sight: sightOf(outOfTen.best) };
  });
}

/** The person's own leans that way while the grid was sound; failing that, their leans the other way, for a body leans
 *  about as far to either side (assumption); failing both, usual ones. */
function depthsOf(direction: LeanDirection, replay: Replay): readonly number[] {
  const own = depthsIn(replay.soundReliefs, direction);
  if (own.length >= fewestOwn) return own.slice(-mostReplayed);
  const mirror = mirrorOf[direction];
  const other = mirror === null ? [] : depthsIn(replay.laterReliefs, mirror);
  if (other.length < fewestOwn) return usualDepths;
  // A depth is told as a share of what the broken grid feels: it is less of the whole.
  const felt = feltShare(replay);
  return other.slice(-mostReplayed).map((depth) => depth * felt);
}

const depthsIn = (reliefs: readonly RecordedRelief[], direction: LeanDirection): number[] =>
  reliefs.filter((relief) => relief.kind === kindOf[direction]).map((relief) => relief.depth);

function feltShare(replay: Replay): number {
  const whole = replay.rests.reduce((sum, rest) => sum + seatSums(rest, replay).total, 0);
  const felt = replay.rests.reduce((sum, rest) => sum + seatSums(sensed(rest, replay), replay).total, 0);
  return whole > 0 ? Math.min(1, felt / whole) : 1;
}

/** Would a lean of this depth, from this resting map, be reported? */
function sightOn(
  direction: LeanDirection,
  rest: readonly number[],
  replay: Replay,
): (depth: number) => boolean {
  const sums = (load: readonly number[]) => seatSums(sensed(load, replay), replay);
  const atRest = sums(rest);
  return (depth) => wouldReport(direction, atRest, sums(leant(direction, rest, depth, replay)));
}

const sensed = (load: readonly number[], { states, stuckAt }: Replay): number[] =>
  load.map((count, cell) => {
    if (works(states[cell])) return count;
    return states[cell] === "stuck" ? (stuckAt[cell] ?? 0) : 0;
  });

/** Moves `depth` of half the load off the relieved half and onto the other. Sideways both halves keep their shape;
 *  forward the load leaves the peaks under the sit bones while the thighs stay, so a cell gives in proportion to the
 *  square of what it carries (assumptions). */
function leant(
  direction: LeanDirection,
  rest: readonly number[],
  depth: number,
  shape: GridShape,
): readonly number[] {
  const sums = seatSums(rest, shape);
  const relieved = { left: sums.right, right: sums.left, forward: sums.rear }[direction];
  const taking = { left: sums.left, right: sums.right, forward: sums.front }[direction];
  if (relieved <= 0 || taking <= 0) return rest;
  const gone = Math.min(relieved, (depth * sums.total) / 2);
  const power = direction === "forward" ? 2 : 1;
  const weights = rest.map((count, cell) => (onRelievedHalf(direction, cell, shape) ? count ** power : null));
  const weight = weights.reduce<number>((sum, each) => sum + (each ?? 0), 0);
  const gains = 1 + ((direction === "forward" ? arrivesInFront : 1) * gone) / taking;
  return rest.map((count, cell) => {
    const own = weights[cell] ?? null;
    return own === null ? count * gains : Math.max(0, count - (gone * own) / weight);
  });
}

function onRelievedHalf(direction: LeanDirection, cell: number, shape: GridShape): boolean {
  const inLeftHalf = 2 * (cell % shape.columns) + 1 < shape.columns;
  const inFrontHalf = 2 * Math.floor(cell / shape.columns) + 1 < shape.rows;
  switch (direction) {
    case "left":
      return !inLeftHalf;
    case "right":
      return inLeftHalf;
    case "forward":
      return !inFrontHalf;
  }
}

const timesTen = (share: Interval): Interval => ({
  low: 10 * share.low,
  best: 10 * share.best,
  high: 10 * share.high,
  level: share.level,
});

/** Where a direction stops being seen and starts being blind. Our convention. */
function sightOf(outOfTen: number): LeanVisibility["sight"] {
  if (outOfTen >= 8) return "sees";
  return outOfTen >= 3 ? "weak" : "blind";
}
