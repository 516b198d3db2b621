import type { GridShape, Line } from "./expected-response.ts";
import { innerNeighbour, silentAgainstItself } from "./own-history.ts";
import { clearlyLoaded, isSilent, type SitPromise } from "./silence.ts";
import { type BrokenOdds, type BrokenSince, brokenSince, type Look } from "./unbroken-evidence.ts";

/** A whole row or column that doesn't answer though its neighbours do: one broken trace, not sixteen broken cells. */
export interface SilentLine extends BrokenSince {
  readonly line: Line;
  /** From 0: rows from the front, columns from the person's left. */
  readonly index: number;
}

/** Cells of a line that must have been expected to answer before a sit says anything of it. Assumption. */
const fewestExpected = 3;
/** Of those, the share that must be silent. Assumption. */
const lineShare = 0.85;
/** Assumptions: no published rate of broken lines is at hand. */
const odds: BrokenOdds = { prior: 0.001, ifBroken: 0.95, ifSound: 0.03, ceiling: 0.99 };

/** @param sits oldest first
 *  @returns lines more likely broken than not, likeliest first */
export function silentLines(sits: readonly SitPromise[], shape: GridShape): SilentLine[] {
  const lines: SilentLine[] = [];
  for (const line of ["row", "column"] as const) {
    const count = line === "row" ? shape.rows : shape.columns;
    for (let index = 0; index < count; index++) {
      const cells = cellsOf(line, index, shape);
      const byNeighbours = brokenSince(
        sits.flatMap((sit) => lookAtLine(sit, line, cells)),
        odds,
      );
      const found =
        byNeighbours ?? silentAgainstItself(sits, cells, innerNeighbour(sits, line, index, shape, cellsOf));
      if (found) lines.push({ line, index, ...found });
    }
  }
  return lines.sort((a, b) => b.probability - a.probability);
}

export const cellsOf = (line: Line, index: number, { rows, columns }: GridShape): number[] =>
  line === "row"
    ? Array.from({ length: columns }, (_, column) => index * columns + column)
    : Array.from({ length: rows }, (_, row) => row * columns + index);

/** Nothing where too few of the line's cells should have answered to tell. */
export function lookAtLine(sit: SitPromise, line: Line, cells: readonly number[]): Look[] {
  const expected = sit[line];
  const asked = cells.filter((cell) => (expected[cell] ?? 0) >= clearlyLoaded);
  if (asked.length < fewestExpected) return [];
  const silent = asked.filter((cell) => isSilent(sit.response[cell] ?? 0, expected[cell] ?? 0));
  return [{ at: sit.at, broken: silent.length / asked.length >= lineShare }];
}
