/** A grid of numbers, row by row, front row first, left to right as the person sits. */
export interface GridShape {
  readonly rows: number;
  readonly columns: number;
}

export type Line = "row" | "column";

/** An edge has a neighbour on one side only: of what the two cells inside it promise together, what a working edge
 *  reads at the least where the load falls off as steeply as it does beside a sit bone. Assumption. */
const edgeShare = 0.2;

/** What the cells across a line say that line should read at the least.
 *  Pressure under a seated body rises and falls smoothly, and falls off like a bell: a working cell then reads more than
 *  the geometric mean of a cell on either side of it. Of each side the nearest two are asked and the greater is
 *  believed, so that one dead line beside this one doesn't silence the question (common practice, no source).
 *  @param response counts above empty */
export function promised(line: Line, response: readonly number[], shape: GridShape): number[] {
  const at = (row: number, column: number): number | null =>
    row < 0 || column < 0 || row >= shape.rows || column >= shape.columns
      ? null
      : Math.max(0, response[row * shape.columns + column] ?? 0);
  return response.map((_, cell) => {
    const row = Math.floor(cell / shape.columns);
    const column = cell % shape.columns;
    const away = (steps: number) => (line === "column" ? at(row, column + steps) : at(row + steps, column));
    return between([away(-1), away(-2)], [away(1), away(2)]);
  });
}

type Side = readonly [nearest: number | null, next: number | null];

function between(before: Side, after: Side): number {
  const left = greater(before);
  const right = greater(after);
  if (left !== null && right !== null) return Math.sqrt(left * right);
  const [nearest, next] = left === null ? after : before;
  if (nearest === null || next === null) return 0;
  // Where the inner cell reads less, it may itself be dead: the load is then not known to rise towards the edge.
  return edgeShare * nearest * (next > nearest ? nearest / next : 1);
}

const greater = ([nearest, next]: Side): number | null =>
  nearest === null ? null : Math.max(nearest, next ?? 0);
