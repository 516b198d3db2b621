import type { GridShape } from "./expected-response.ts";

/** The ways an insert can be put back, front row first: turned by quarter turns, and upside down, which mirrors it. */
export const placings = [
  "as-before",
  "turned-half",
  "turned-left",
  "turned-right",
  "mirrored",
  "mirrored-and-turned-half",
  "mirrored-and-turned-left",
  "mirrored-and-turned-right",
] as const;
export type Placing = (typeof placings)[number];

/** Of an insert that was put back so. */
export const placingWords = (placing: Placing): string => `put back ${placing.replaceAll("-", " ")}`;

type Move = (row: number, column: number, last: GridShape) => readonly [row: number, column: number];

const moves: Readonly<Record<Placing, Move>> = {
  "as-before": (row, column) => [row, column],
  "turned-half": (row, column, last) => [last.rows - row, last.columns - column],
  "turned-left": (row, column, last) => [column, last.rows - row],
  "turned-right": (row, column, last) => [last.columns - column, row],
  mirrored: (row, column, last) => [row, last.columns - column],
  "mirrored-and-turned-half": (row, column, last) => [last.rows - row, column],
  "mirrored-and-turned-left": (row, column) => [column, row],
  "mirrored-and-turned-right": (row, column, last) => [last.columns - column, last.rows - row],
};

const quarterTurns: ReadonlySet<Placing> = new Set([
  "turned-left",
  "turned-right",
  "mirrored-and-turned-left",
  "mirrored-and-turned-right",
]);

/** A grid that isn't square can't be put in by a quarter turn. */
export const possiblePlacings = ({ rows, columns }: GridShape): readonly Placing[] =>
  placings.filter((placing) => rows === columns || !quarterTurns.has(placing));

/** For each cell of the grid, the cell whose place on the seat it has taken.
 *  Eight ways: the symmetries of a square (the dihedral group of order 8). */
export function cellsAsPlaced(placing: Placing, { rows, columns }: GridShape): number[] {
  const last = { rows: rows - 1, columns: columns - 1 };
  return Array.from({ length: rows * columns }, (_, cell) => {
    const [row, column] = moves[placing](Math.floor(cell / columns), cell % columns, last);
    return row * columns + column;
  });
}
