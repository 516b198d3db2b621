import { clearlyLoaded } from "./silence.ts";

/** `not-seen`: this body never loads it, which says nothing about the cell. `masked`: known not to count. */
export type CellState = "working" | "not-seen" | "open" | "stuck" | "masked";

/** @param lately resting maps of the last days, counts above empty, at least one; @param open and @param stuck the cells
 *  found broken; @param masked go before both
 *  @returns one state a cell, row by row */
export function cellStates(
  lately: readonly Float64Array[],
  open: ReadonlySet<number>,
  stuck: ReadonlySet<number>,
  masked: ReadonlySet<number>,
): CellState[] {
  return Array.from(lately[0] ?? [], (_, cell) => {
    if (masked.has(cell)) return "masked";
    if (stuck.has(cell)) return "stuck";
    if (open.has(cell)) return "open";
    const mean = lately.reduce((sum, map) => sum + (map[cell] ?? 0), 0) / lately.length;
    return mean >= clearlyLoaded / 2 ? "working" : "not-seen";
  });
}

/** Something in it fails that isn't masked. */
export const isBroken = (states: readonly CellState[]): boolean =>
  states.some((state) => !works(state) && state !== "masked");

export const works = (state: CellState | undefined): boolean => state === "working" || state === "not-seen";
