import type { GridShape } from "./expected-response.ts";

/** Counted from the front left of the seat, from 1, as a person says it. @param cell row by row, from 0 */
export const cellName = (cell: number, columns: number): string =>
  `row ${Math.floor(cell / columns) + 1}, column ${(cell % columns) + 1}`;

export type CellsRead =
  | { readonly kind: "cells"; readonly cells: readonly number[] }
  | { readonly kind: "not-a-cell"; readonly item: string };

/** How a person writes several: `1/1, 1/10`, row before column. */
export const cellsAsWritten = (cells: readonly number[], columns: number): string =>
  cells.map((cell) => `${Math.floor(cell / columns) + 1}/${(cell % columns) + 1}`).join(", ");

/** Reads what `cellsAsWritten` writes; commas, semicolons, spaces and new lines part the items.
 *  @returns ascending, each once; or the first item that names no cell of this grid */
export function cellsFrom(text: string, { rows, columns }: GridShape): CellsRead {
  const cells = new Set<number>();
  for (const item of text.split(/[\s,;]+/).filter((part) => part !== "")) {
    const match = /^(\d{1,3})\/(\d{1,3})$/.exec(item);
    const row = Number(match?.[1]) - 1;
    const column = Number(match?.[2]) - 1;
    const inside = row >= 0 && row < rows && column >= 0 && column < columns;
    if (!inside) return { kind: "not-a-cell", item };
    cells.add(row * columns + column);
  }
  return { kind: "cells", cells: [...cells].sort((a, b) => a - b) };
}
