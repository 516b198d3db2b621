import { type GridShape, promised } from "./expected-response.ts";
import type { Sit } from "./sits.ts";

/** Counts a cell must be promised before its silence means anything. Assumption. */
export const clearlyLoaded = 14;
/** A cell below this share of what its neighbours promise is silent. Assumption. */
const silentShare = 0.2;

export const isSilent = (response: number, expected: number): boolean => response < silentShare * expected;

/** A sit, with what each cell's neighbours along and across promise of it. */
export interface SitPromise extends Sit {
  readonly row: readonly number[];
  readonly column: readonly number[];
}

export const withPromises = (sits: readonly Sit[], shape: GridShape): SitPromise[] =>
  sits.map((sit) => ({
    ...sit,
    row: promised("row", sit.response, shape),
    column: promised("column", sit.response, shape),
  }));
