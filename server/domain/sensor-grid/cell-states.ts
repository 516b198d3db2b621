import { clearlyLoaded } from "./silence.ts";
import type { Sit } from "./sits.ts";

/** `not-seen`: this body never loads it, which says nothing about the cell. */
export type CellState = "working" | "not-seen" | "open" | "stuck";

/** @param lately sits of the last days, at least one; @param open and @param stuck the cells found broken
 *  @returns one state a cell, row by row */
export function cellStates(
  lately: readonly Sit[],
  open: ReadonlySet<number>,
  stuck: ReadonlySet<number>,
): CellState[] {
  const shape = lately[0]?.response ?? [];
  return shape.map((_, cell) => {
    if (stuck.has(cell)) return "stuck";
    if (open.has(cell)) return "open";
    const mean = lately.reduce((sum, sit) => sum + (sit.response[cell] ?? 0), 0) / lately.length;
    return mean >= clearlyLoaded / 2 ? "working" : "not-seen";
  });
}

export const works = (state: CellState | undefined): boolean => state === "working" || state === "not-seen";
