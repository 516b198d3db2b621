import { type CellState, works } from "./cell-states.ts";
import type { GridShape } from "./expected-response.ts";

/** The map as it would read if every cell worked, where no earlier sound map is at hand. A broken cell takes what its
 *  mirror on the other side reads, scaled as the two sides differ elsewhere (a seated body is about symmetric:
 *  assumption); where that is broken too, what the cells on either side of it say.
 *  @param response counts above empty */
export function restoredMap(
  response: Float64Array,
  states: readonly CellState[],
  shape: GridShape,
): Float64Array {
  const ratio = rightOverLeft(response, states, shape);
  return response.map((count, cell) => {
    if (works(states[cell])) return Math.max(0, count);
    const mirror = mirrorOf(cell, shape);
    if (!works(states[mirror])) return betweenNeighbours(response, cell, shape);
    return Math.max(0, response[mirror] ?? 0) * (inLeftHalf(cell, shape) ? 1 / ratio : ratio);
  });
}

const inLeftHalf = (cell: number, { columns }: GridShape): boolean => 2 * (cell % columns) + 1 < columns;

const mirrorOf = (cell: number, { columns }: GridShape): number => {
  const column = cell % columns;
  return cell - column + (columns - 1 - column);
};

/** Over pairs of cells that both work. */
function rightOverLeft(response: Float64Array, states: readonly CellState[], shape: GridShape): number {
  let left = 0;
  let right = 0;
  response.forEach((count, cell) => {
    const mirror = mirrorOf(cell, shape);
    if (!inLeftHalf(cell, shape) || !works(states[cell]) || !works(states[mirror])) return;
    left += Math.max(0, count);
    right += Math.max(0, response[mirror] ?? 0);
  });
  return left > 0 && right > 0 ? right / left : 1;
}

/** A cubic through the logarithms of the two cells on either side, exact for a bell-shaped load (four-point midpoint
 *  rule; common practice, no source). Of along and across the greater: a hollow between two peaks fools one of them. */
function betweenNeighbours(response: Float64Array, cell: number, shape: GridShape): number {
  const row = Math.floor(cell / shape.columns);
  const column = cell % shape.columns;
  const at = (atRow: number, atColumn: number): number => {
    if (atRow < 0 || atColumn < 0 || atRow >= shape.rows || atColumn >= shape.columns) return 1;
    return Math.max(1, response[atRow * shape.columns + atColumn] ?? 1);
  };
  return Math.max(
    midpoint([-2, -1, 1, 2].map((step) => at(row, column + step))),
    midpoint([-2, -1, 1, 2].map((step) => at(row + step, column))),
  );
}

function midpoint(values: readonly number[]): number {
  const [farBefore = 1, before = 1, next = 1, farNext = 1] = values;
  const logarithm = (4 * Math.log(before * next) - Math.log(farBefore * farNext)) / 6;
  // Beside an edge or a second dead line the cubic runs away: nothing reads more than twice its greater neighbour.
  return Math.min(Math.exp(logarithm), 2 * Math.max(before, next));
}
