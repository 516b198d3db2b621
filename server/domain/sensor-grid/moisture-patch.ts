import type { RecordedFrame } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Instant, millisecondsIn, type Probability, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";

/** Neighbouring cells that read high with nobody on them, and went on doing so. */
export interface MoisturePatch {
  readonly cells: readonly number[];
  readonly since: Instant;
  readonly probability: Probability;
  readonly course: "growing" | "steady" | "drying";
  readonly readings: number;
}

/** Counts above a cell's usual empty reading that count as raised, cells that make a patch, empty readings in a row, and
 *  the time they must span: textile that was just sat on, or an object put down for a moment, is gone sooner.
 *  Assumptions. */
const raisedBy = 8;
const fewestCells = 3;
const fewestReadings = 2;
const shortest = 2 * millisecondsIn.hour;
const usualFrames = 12;
const dryAgain = 2;

/** @param empty empty frames, oldest first, one shape; @param ignore cells known to be broken
 *  @returns the patch that is there now; null where there is none or too little to go by */
export function moisturePatch(
  empty: readonly RecordedFrame[],
  shape: GridShape,
  ignore: ReadonlySet<number>,
): MoisturePatch | null {
  if (empty.length < usualFrames + fewestReadings) return null;
  const usual = usualEmpty(empty);
  const run: { at: Instant; cells: number[]; excess: number }[] = [];
  let dry = 0;
  for (const frame of empty) {
    const cells = largestPatch(frame, usual, shape, ignore);
    if (cells.length >= fewestCells) {
      dry = 0;
      const excess = cells.reduce((sum, cell) => sum + (frame.cells[cell] ?? 0) - (usual[cell] ?? 0), 0);
      run.push({ at: frame.at, cells, excess });
    } else if (run.length > 0 && ++dry >= dryAgain) run.length = 0;
  }
  const first = run[0];
  const last = run.at(-1);
  if (!first || !last || run.length < fewestReadings || last.at - first.at < shortest) return null;
  const overlap = last.cells.filter((cell) => first.cells.includes(cell)).length;
  if (overlap === 0) return null;
  const course = courseOf(run);
  return {
    cells: last.cells,
    since: first.at,
    readings: run.length,
    course,
    // What changes size and fades is water; what lies there unchanged may as well be an object. Assumptions.
    probability: probability(course === "steady" ? 0.6 : Math.min(0.95, 0.7 + 0.05 * run.length)),
  };
}

/** The lower quartile over all: a patch that is there half of the time doesn't become usual. */
function usualEmpty(empty: readonly RecordedFrame[]): number[] {
  return Array.from(empty[0]?.cells ?? [], (_, cell) => {
    const sorted = empty.map((frame) => frame.cells[cell] ?? 0).sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 4)] ?? 0;
  });
}

function largestPatch(
  frame: RecordedFrame,
  usual: readonly number[],
  shape: GridShape,
  ignore: ReadonlySet<number>,
): number[] {
  // The whole grid may creep: what counts is above the rest of it.
  const excess = Array.from(frame.cells, (count, cell) => count - (usual[cell] ?? 0));
  const crept = median(excess) ?? 0;
  const raised = new Set(
    excess.flatMap((above, cell) => (above - crept >= raisedBy && !ignore.has(cell) ? [cell] : [])),
  );
  let largest: number[] = [];
  while (raised.size > largest.length) {
    const patch = takePatch(raised, shape);
    if (patch.length > largest.length) largest = patch;
  }
  return largest;
}

/** Takes one connected patch out of `raised`. */
function takePatch(raised: Set<number>, { columns }: GridShape): number[] {
  const [start] = raised;
  if (start === undefined) return [];
  raised.delete(start);
  const patch = [start];
  for (const cell of patch) {
    const column = cell % columns;
    const beside = [
      cell - columns,
      cell + columns,
      ...(column > 0 ? [cell - 1] : []),
      ...(column < columns - 1 ? [cell + 1] : []),
    ];
    for (const next of beside) if (raised.delete(next)) patch.push(next);
  }
  return patch;
}

function courseOf(run: readonly { readonly excess: number }[]): MoisturePatch["course"] {
  const peak = Math.max(...run.map(({ excess }) => excess));
  const first = run[0]?.excess ?? 0;
  const last = run.at(-1)?.excess ?? 0;
  if (last < 0.75 * peak) return "drying";
  return first < 0.75 * peak ? "growing" : "steady";
}
