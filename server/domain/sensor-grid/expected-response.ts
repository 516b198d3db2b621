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
export function promised(line: Line, response: Float64Array, { rows, columns }: GridShape): Float64Array {
  const across = line === "column";
  const [step, count, start, lines] = across ? [1, columns, columns, rows] : [columns, rows, 1, columns];
  const expected = new Float64Array(response.length);
  const values = new Float64Array(count);
  for (let index = 0; index < lines; index++) {
    const first = index * start;
    for (let place = 0; place < count; place++)
      values[place] = Math.max(0, response[first + place * step] ?? 0);
    for (let place = 0; place < count; place++) expected[first + place * step] = between(values, place);
  }
  return expected;
}

function between(values: Float64Array, place: number): number {
  const last = values.length - 1;
  if (place > 0 && place < last) {
    const before = Math.max(values[place - 1] ?? 0, values[place - 2] ?? 0);
    const behind = Math.max(values[place + 1] ?? 0, values[place + 2] ?? 0);
    return Math.sqrt(before * behind);
  }
  if (last < 2) return 0;
  const inwards = place === 0 ? 1 : -1;
  const nearest = values[place + inwards] ?? 0;
  const next = values[place + 2 * inwards] ?? 0;
  // Where the inner cell reads less, it may itself be dead: the load is then not known to rise towards the edge.
  return edgeShare * nearest * (next > nearest ? nearest / next : 1);
}
