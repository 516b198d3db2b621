import type { GridShape } from "./expected-response.ts";

/** Cells that don't count: the bench let the unit pass without them, or its model has none there. */
export interface MaskedCells extends GridShape {
  readonly cells: readonly number[];
}

/** @returns none where the grid is another than the one they were masked on */
export const maskedOn = (masked: MaskedCells | null, { rows, columns }: GridShape): ReadonlySet<number> =>
  new Set(masked?.rows === rows && masked.columns === columns ? masked.cells : []);
