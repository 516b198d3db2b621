import type { RecordedFrame } from "../record/unit-record.ts";
import { expectedAlong, responses } from "./expected-response.ts";
import type { SilentLine } from "./silent-lines.ts";

/** `not-seen`: this body never loads it, which says nothing about the cell. */
export type CellState = "working" | "not-seen" | "open" | "stuck";

/** Counts above the middle of all empty offsets at which a cell is held by something that isn't a body. Assumption. */
const stuckAbove = 60;
/** A stuck cell hardly moves between empty and loaded. Assumption. */
const stuckMoves = 6;
const clearlyLoaded = 14;
const silentShare = 0.2;

/** @param frames of one shape; @param offsets from `emptyOffsets`; @param lines from `silentLines`
 *  @returns one state a cell, row by row */
export function cellStates(
  frames: readonly RecordedFrame[],
  offsets: readonly number[],
  lines: readonly SilentLine[],
): CellState[] {
  const loaded = frames.filter((frame) => frame.seat === "loaded");
  const shape = loaded[0];
  if (!shape) return offsets.map(() => "not-seen");
  const mean = meanResponse(loaded, offsets);
  const usual = middle(offsets);
  const across = expectedAlong("column", mean, shape);
  const along = expectedAlong("row", mean, shape);
  return mean.map((response, cell) => {
    const row = Math.floor(cell / shape.columns);
    const column = cell % shape.columns;
    if (lines.some(({ line, index }) => index === (line === "row" ? row : column))) return "open";
    if ((offsets[cell] ?? 0) > usual + stuckAbove && Math.abs(response) < stuckMoves) return "stuck";
    const promised = Math.min(across(row, column), along(row, column));
    if (promised >= clearlyLoaded && response < silentShare * promised) return "open";
    return response >= clearlyLoaded / 2 ? "working" : "not-seen";
  });
}

function meanResponse(loaded: readonly RecordedFrame[], offsets: readonly number[]): number[] {
  const sum = offsets.map(() => 0);
  for (const frame of loaded) {
    const response = responses(frame, offsets);
    for (let cell = 0; cell < sum.length; cell++) sum[cell] = (sum[cell] ?? 0) + (response[cell] ?? 0);
  }
  return sum.map((total) => total / loaded.length);
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? 0;
}
