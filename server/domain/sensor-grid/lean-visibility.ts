import type { LeanDirection, LeanVisibility } from "../condition/condition.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import type { Interval } from "../units.ts";
import { type Replay, sensed, shallowestShown } from "./replayed-lean.ts";
import { seatSums } from "./reported-lean.ts";

/** Depths to try where a person's own good leans are too few: shares of half the load. Assumption: spread over what a
 *  complete lean usually reaches. */
const usualDepths = [0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9];
const fewestOwn = 10;
const mostReplayed = 40;

/** How far a replayed lean may be from the real one, in depth, one standard deviation: a body doesn't keep the shape that
 *  it is replayed with. Of a guessed map more. Assumptions, tried on simulated units. */
const depthDoubt = { own: 0.024, restored: 0.06 };
const ninetyPercent = 1.645;

export const leanDirections = ["left", "right", "forward"] as const satisfies readonly LeanDirection[];
const mirrorOf = { left: "right", right: "left", forward: null } as const;
const kindOf = { left: "lean-left", right: "lean-right", forward: "lean-forward" } as const;

/** Of ten reliefs in each direction, how many would this grid report today? Replays leans of this person's own depths,
 *  on their own resting maps, through the cells as they are now.
 *  @returns for each direction a share times ten, with a 90 % interval: what leans so much shallower or deeper would show.
 *  Two errors of depth, independent: the replay's own, and that so many leans show where theirs lie no better than to their
 *  standard deviation over the root of their number (JCGM 100:2008, 4.2.3). How many of ten are seen follows from where
 *  they lie, so that a second, binomial, doubt would count the same twice. */
export function leanVisibility(replay: Replay): LeanVisibility[] {
  return leanDirections.map((direction) => {
    const depths = depthsOf(direction, replay);
    const least = replay.rests.map((rest) => shallowestShown(direction, rest, replay));
    const shareShown = (off: number): number =>
      least.reduce((sum, depth) => sum + depths.filter((own) => own - off >= depth).length, 0) /
      Math.max(1, depths.length * least.length);
    const doubt = replay.restored ? depthDoubt.restored : depthDoubt.own;
    const off = ninetyPercent * Math.hypot(doubt, meanDeviation(depths));
    const outOfTen = timesTen({
      low: shareShown(off),
      best: shareShown(0),
      high: shareShown(-off),
      level: 0.9,
    });
    return { direction, outOfTen, sight: sightOf(outOfTen.best) };
  });
}

/** One standard deviation of a mean. */
function meanDeviation(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return Math.sqrt(squares / (values.length - 1) / values.length);
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
  let whole = 0;
  let felt = 0;
  for (const rest of replay.rests) {
    whole += seatSums(rest, replay).total;
    felt += seatSums(sensed(rest, replay), replay).total;
  }
  return whole > 0 ? Math.min(1, felt / whole) : 1;
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
