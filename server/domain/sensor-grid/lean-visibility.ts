import type { LeanDirection, LeanVisibility } from "../condition/condition.ts";
import type { RecordedFrame, RecordedRelief } from "../record/unit-record.ts";
import type { Interval } from "../units.ts";
import type { CellState } from "./cell-states.ts";
import { expectedAlong, type GridShape, responses } from "./expected-response.ts";
import { seatSums, wouldReport } from "./reported-lean.ts";

/** Depths to try where a person's own good leans are too few: shares of half the load. Assumption: spread over what a
 *  complete lean usually reaches. */
const usualDepths = [0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9];
const fewestOwn = 10;
const mostReplayed = 60;
const restsTried = 8;

const directions = ["left", "right", "forward"] as const;
const kindOf = { left: "lean-left", right: "lean-right", forward: "lean-forward" } as const;

/** Of ten reliefs in each direction, how many would this grid report today? Replays leans of this person's own depths,
 *  seen while the grid was sound, on their own resting map through the cells as they are now.
 *  @param loaded resting frames, newest last, at least one
 *  @param soundReliefs reliefs recorded before the first fault
 *  @returns for each direction a share with a 90 % interval (Wilson 1927), times ten */
export function leanVisibility(
  loaded: readonly RecordedFrame[],
  offsets: readonly number[],
  states: readonly CellState[],
  soundReliefs: readonly RecordedRelief[],
): LeanVisibility[] {
  const rests = loaded.slice(-restsTried).map((frame) => restingMap(frame, offsets, states));
  return directions.map((direction) => {
    const depths = depthsFor(direction, soundReliefs);
    let seen = 0;
    let tried = 0;
    for (const rest of rests) {
      for (const depth of depths) {
        tried++;
        if (leanShows(direction, rest, depth, states)) seen++;
      }
    }
    const outOfTen = timesTen(wilson(tried === 0 ? 0 : seen / tried, depths.length));
    return { direction, outOfTen, sight: sightOf(outOfTen.best) };
  });
}

function depthsFor(direction: LeanDirection, reliefs: readonly RecordedRelief[]): readonly number[] {
  const own = reliefs.filter((relief) => relief.kind === kindOf[direction]).map((relief) => relief.depth);
  return own.length >= fewestOwn ? own.slice(-mostReplayed) : usualDepths;
}

interface RestingMap extends GridShape {
  readonly load: readonly number[];
}

/** The map as it would read if every cell worked: a broken cell takes what its neighbours promise. */
function restingMap(
  frame: RecordedFrame,
  offsets: readonly number[],
  states: readonly CellState[],
): RestingMap {
  const response = responses(frame, offsets);
  const across = expectedAlong("column", response, frame);
  const along = expectedAlong("row", response, frame);
  const load = response.map((count, cell) => {
    if (works(states[cell])) return Math.max(0, count);
    const row = Math.floor(cell / frame.columns);
    const column = cell % frame.columns;
    return Math.max(0, across(row, column), along(row, column));
  });
  return { rows: frame.rows, columns: frame.columns, load };
}

const works = (state: CellState | undefined): boolean => state === "working" || state === "not-seen";

function leanShows(
  direction: LeanDirection,
  rest: RestingMap,
  depth: number,
  states: readonly CellState[],
): boolean {
  const leant = lean(direction, rest, depth);
  const sensed = (load: readonly number[]) => load.map((count, cell) => (works(states[cell]) ? count : 0));
  return wouldReport(direction, seatSums(sensed(rest.load), rest), seatSums(sensed(leant), rest));
}

/** Moves `depth` of half the load off the relieved half and onto the other (forward: most of it, the rest goes to the
 *  feet). The shape of each half is kept. */
function lean(direction: LeanDirection, rest: RestingMap, depth: number): number[] {
  const sums = seatSums(rest.load, rest);
  const relieved = { left: sums.right, right: sums.left, forward: sums.rear }[direction];
  const taking = { left: sums.left, right: sums.right, forward: sums.front }[direction];
  if (relieved <= 0 || taking <= 0) return [...rest.load];
  const gone = Math.min(relieved, (depth * sums.total) / 2);
  const keeps = 1 - gone / relieved;
  const gains = 1 + ((direction === "forward" ? 0.7 : 1) * gone) / taking;
  return rest.load.map((count, cell) => count * (onRelievedHalf(direction, cell, rest) ? keeps : gains));
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

/** Wilson score interval at 90 %. Source: Wilson 1927, J Am Stat Assoc 22:209. */
function wilson(share: number, n: number): Interval {
  const z = 1.6449;
  const centre = (share + (z * z) / (2 * n)) / (1 + (z * z) / n);
  const half = (z * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n))) / (1 + (z * z) / n);
  return { low: Math.max(0, centre - half), best: share, high: Math.min(1, centre + half), level: 0.9 };
}

const timesTen = (share: Interval): Interval => ({
  low: 10 * share.low,
  best: 10 * share.best,
  high: 10 * share.high,
  level: share.level,
});

function sightOf(outOfTen: number): LeanVisibility["sight"] {
  if (outOfTen >= 8) return "sees";
  return outOfTen >= 3 ? "weak" : "blind";
}
