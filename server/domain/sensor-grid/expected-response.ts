import type { RecordedFrame } from "../record/unit-record.ts";

/** A grid of numbers, row by row, front row first, left to right as the person sits. */
export interface GridShape {
  readonly rows: number;
  readonly columns: number;
}

/** What each cell reads with nobody on it: the median over empty frames, so that one odd frame doesn't move it.
 *  @param frames of one shape; loaded ones are passed over
 *  @returns counts, or null where there are fewer than `fewest` empty frames */
export function emptyOffsets(frames: readonly RecordedFrame[], fewest = 3): readonly number[] | null {
  const empty = frames.filter((frame) => frame.seat === "empty");
  const first = empty[0];
  if (!first || empty.length < fewest) return null;
  return Array.from(first.cells, (_, cell) => median(empty.map((frame) => frame.cells[cell] ?? 0)));
}

/** Counts above empty, cell by cell. */
export function responses(frame: RecordedFrame, offsets: readonly number[]): number[] {
  return Array.from(frame.cells, (count, cell) => count - (offsets[cell] ?? 0));
}

/** What the cells beside a line say that line should read: for a column, the mean of left and right neighbours
 *  (one of them at an edge); for a row, of front and rear. Pressure under a seated body changes slowly from cell to
 *  cell, so a working line reads close to this (common practice, no source). */
export function expectedAlong(
  line: "row" | "column",
  response: readonly number[],
  shape: GridShape,
): (row: number, column: number) => number {
  const at = (row: number, column: number): number | null =>
    row < 0 || column < 0 || row >= shape.rows || column >= shape.columns
      ? null
      : (response[row * shape.columns + column] ?? null);
  return (row, column) => {
    const sides =
      line === "column"
        ? [at(row, column - 1), at(row, column + 1)]
        : [at(row - 1, column), at(row + 1, column)];
    const known = sides.filter((value): value is number => value !== null);
    return known.reduce((sum, value) => sum + value, 0) / known.length;
  };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) / 2)] ?? 0;
}
