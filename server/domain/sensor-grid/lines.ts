import type { GridShape, Line } from "./expected-response.ts";
import { perShape } from "./per-shape.ts";

/** Rows from the front, then columns from the person's left: the order in which a sit tells of its lines. */
export interface LinePlace {
  readonly line: Line;
  /** From 0. */
  readonly index: number;
}

export const linesOf = perShape(({ rows, columns }): readonly LinePlace[] => [
  ...Array.from({ length: rows }, (_, index): LinePlace => ({ line: "row", index })),
  ...Array.from({ length: columns }, (_, index): LinePlace => ({ line: "column", index })),
]);

export const placeOf = ({ line, index }: LinePlace, { rows }: GridShape): number =>
  line === "row" ? index : rows + index;

const cellsOfLines = perShape((shape): readonly (readonly number[])[] =>
  linesOf(shape).map(({ line, index }) =>
    line === "row"
      ? Array.from({ length: shape.columns }, (_, column) => index * shape.columns + column)
      : Array.from({ length: shape.rows }, (_, row) => row * shape.columns + index),
  ),
);

export const cellsOf = (line: Line, index: number, shape: GridShape): readonly number[] =>
  cellsOfLines(shape)[placeOf({ line, index }, shape)] ?? [];

/** Lines that have one of their own kind behind them: pairs that may touch. */
export const pairsOf = perShape((shape): readonly LinePlace[] =>
  linesOf(shape).filter(({ line, index }) => index + 1 < (line === "row" ? shape.rows : shape.columns)),
);
