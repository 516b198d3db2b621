import { median } from "../statistics/median.ts";
import type { Instant } from "../units.ts";
import { type GridShape, promised } from "./expected-response.ts";
import { cellsOf, type LinePlace, linesOf, pairsOf } from "./lines.ts";
import { clearlyLoaded, isSilent } from "./silence.ts";
import type { Sit } from "./sits.ts";

/** What one sit says of one thing. */
export const nothing = 0;
export const answered = 1;
export const silent = 2;

/** What one sit says of every line, pair and cell of a grid: all that the weeks after it need to know of it. Typed arrays,
 *  for it is kept. */
export interface SitReading {
  readonly at: Instant;
  /** By `linesOf`: `nothing`, `answered` or `silent`. */
  readonly lines: Uint8Array;
  /** The same order: what the line carries in all, and the sum of its cells' sizes whatever their sign. */
  readonly carried: Float32Array;
  readonly noisy: Float32Array;
  /** By `pairsOf`: `silent` stands for two lines that read alike. */
  readonly pairs: Uint8Array;
  /** Two bits each: is the cell open, and (times four) is it stuck. */
  readonly cells: Uint8Array;
}

/** Cells of a line that must have been expected to answer before a sit says anything of it. Assumption. */
const fewestExpected = 3;
/** Of those, the share that must be silent. Assumption. */
const lineShare = 0.85;

export function readingOf(sit: Sit, shape: GridShape): SitReading {
  const expected = {
    row: promised("row", sit.response, shape),
    column: promised("column", sit.response, shape),
  };
  const lines = linesOf(shape);
  const sums = lines.map(({ line, index }) => sumsOf(sit.response, cellsOf(line, index, shape)));
  return {
    at: sit.at,
    lines: Uint8Array.from(lines, (place) => lineAnswer(sit.response, expected[place.line], place, shape)),
    carried: Float32Array.from(sums, ({ sum }) => sum),
    noisy: Float32Array.from(sums, ({ sizes }) => sizes),
    pairs: Uint8Array.from(pairsOf(shape), (place) => pairAnswer(sit, place, shape)),
    cells: cellAnswers(sit, expected.row, expected.column),
  };
}

/** `nothing` where too few of the line's cells should have answered to tell. */
function lineAnswer(
  response: Float64Array,
  expected: Float64Array,
  { line, index }: LinePlace,
  shape: GridShape,
): number {
  let asked = 0;
  let still = 0;
  for (const cell of cellsOf(line, index, shape)) {
    const promise = expected[cell] ?? 0;
    if (promise < clearlyLoaded) continue;
    asked++;
    if (isSilent(response[cell] ?? 0, promise)) still++;
  }
  if (asked < fewestExpected) return nothing;
  return still / asked >= lineShare ? silent : answered;
}

function sumsOf(response: Float64Array, cells: readonly number[]) {
  let sum = 0;
  let sizes = 0;
  for (const cell of cells) {
    sum += response[cell] ?? 0;
    sizes += Math.abs(response[cell] ?? 0);
  }
  return { sum, sizes };
}

/** Two readings of one pair of joined lines differ by noise alone; cells of sound lines were never made alike. Share of
 *  the cells that must agree, and by how much. Assumptions. */
const agreeingShare = 0.85;
const alikeEmpty = 1.5;
const alikeLoaded = 0.06;

function pairAnswer({ counts, emptyBefore }: Sit, { line, index }: LinePlace, shape: GridShape): number {
  if (emptyBefore === null) return nothing;
  const one = cellsOf(line, index, shape);
  const step = line === "row" ? shape.columns : 1;
  let empty = 0;
  let loaded = 0;
  for (const cell of one) {
    const [first, second] = [counts[cell] ?? 0, counts[cell + step] ?? 0];
    if (Math.abs((emptyBefore[cell] ?? 0) - (emptyBefore[cell + step] ?? 0)) <= alikeEmpty) empty++;
    if (Math.abs(first - second) <= alikeEmpty + alikeLoaded * Math.max(first, second)) loaded++;
  }
  return Math.min(empty, loaded) >= agreeingShare * one.length ? silent : answered;
}

/** Counts above the middle of all empty cells at which a cell is held by something that isn't a body. Assumption. */
const stuckAbove = 60;
/** A stuck cell hardly moves when somebody sits down. Assumption. */
const stuckMoves = 6;

function cellAnswers({ response, counts, emptyBefore }: Sit, row: Float64Array, column: Float64Array) {
  const usual = emptyBefore === null ? null : median(Array.from(emptyBefore));
  return Uint8Array.from(response, (own, cell) => {
    const expected = Math.min(row[cell] ?? 0, column[cell] ?? 0);
    const open = expected < clearlyLoaded ? nothing : isSilent(own, expected) ? silent : answered;
    if (emptyBefore === null || usual === null) return open;
    const empty = emptyBefore[cell] ?? 0;
    const stuck = empty > usual + stuckAbove && Math.abs((counts[cell] ?? 0) - empty) < stuckMoves;
    return open + 4 * (stuck ? silent : answered);
  });
}

export const openAnswer = ({ cells }: SitReading, cell: number): number => (cells[cell] ?? 0) & 3;
export const stuckAnswer = ({ cells }: SitReading, cell: number): number => (cells[cell] ?? 0) >> 2;
