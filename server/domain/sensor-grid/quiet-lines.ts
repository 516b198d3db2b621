import type { RecordedFrame } from "../record/unit-record.ts";
import { type Instant, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import { cellsOf, type LinePlace, linesOf, placeOf } from "./lines.ts";
import type { BrokenSince } from "./unbroken-evidence.ts";

/** How much the lines of a grid flickered over the empty pictures of one day: an open line carries no current, and so
 *  hardly any noise, whatever load it would have. Whole numbers. */
export interface Flicker {
  readonly at: Instant | null;
  /** Differences from one picture to the next, of one cell. */
  readonly steps: number;
  /** By `linesOf`: squared differences over its cells. */
  readonly squares: Float64Array;
}

/** @param empty pictures of one day, oldest first */
export function flickerOf(empty: readonly RecordedFrame[], shape: GridShape): Flicker {
  const ofCell = new Float64Array(shape.rows * shape.columns);
  for (let next = 1; next < empty.length; next++) {
    const [before, now] = [empty[next - 1]?.cells, empty[next]?.cells];
    if (!before || !now) continue;
    for (let cell = 0; cell < ofCell.length; cell++) {
      const step = (now[cell] ?? 0) - (before[cell] ?? 0);
      // A jump is no noise: something was put down, or fell off.
      if (Math.abs(step) <= largestStep) ofCell[cell] = (ofCell[cell] ?? 0) + step * step;
    }
  }
  return {
    at: empty[0]?.at ?? null,
    steps: Math.max(0, empty.length - 1),
    squares: Float64Array.from(linesOf(shape), ({ line, index }) =>
      cellsOf(line, index, shape).reduce((sum, cell) => sum + (ofCell[cell] ?? 0), 0),
    ),
  };
}

/** Counts. Noise of a sound cell is about one. Assumption. */
const largestStep = 4;
/** Of a sound line's noise, what is left of an open one's. Assumption. */
const openShare = 0.3;
/** Differences that follow each other share a picture, and counts are whole: a difference is worth half a free one. */
const worth = 0.5;
/** What a line must have shown of itself before its quiet means anything: differences of cells. Assumption. */
const fewestBefore = 60;
const prior = 0.001;
const ceiling = 0.95;
/** A line that always flickered this little beside the rest can't be told from an open one. Assumption. */
const leastUsual = 0.4;

/** A line that used to flicker as the rest of the grid does, and doesn't any more: the likelihood ratio of two variances,
 *  day by day, from the day that makes most of it (CUSUM; Page 1954, Biometrika 41:100). The whole grid of the same day
 *  is the measure, so that a noisier or quieter room changes nothing.
 *  @param days oldest first, of one grid; @returns null where it flickers, or too little is known */
export function quietSince(days: readonly Flicker[], place: LinePlace, shape: GridShape): BrokenSince | null {
  const line = placeOf(place, shape);
  const cells = cellsOf(place.line, place.index, shape).length;
  const told = days.flatMap((day) => {
    const share = shareOfGrid(day, line, cells, shape);
    return share === null ? [] : [{ at: day.at, share, steps: day.steps * cells }];
  });
  let best = 0;
  let since: number | null = null;
  for (let from = told.length - 1; from > 0; from--) {
    const before = together(told.slice(0, from));
    if (before.steps < fewestBefore || before.share < leastUsual) break;
    const sum = told.slice(from).reduce((all, day) => all + likelier(day, before.share), 0);
    if (sum > best) [best, since] = [sum, from];
  }
  const at = since === null ? null : told[since]?.at;
  const open = 1 / (1 + Math.exp(-(Math.log(prior / (1 - prior)) + best)));
  if (since === null || !at || open < 0.5) return null;
  return {
    probability: probability(Math.min(ceiling, open)),
    since: at,
    agreeing: told.length - since,
    disagreeing: 0,
  };
}

interface LineDay {
  readonly share: number;
  readonly steps: number;
}

/** Mean square of the line's differences over that of the rest of the grid. */
function shareOfGrid(
  { steps, squares }: Flicker,
  line: number,
  cells: number,
  { rows, columns }: GridShape,
): number | null {
  let rowsTogether = 0;
  for (let row = 0; row < rows; row++) rowsTogether += squares[row] ?? 0;
  const own = squares[line] ?? 0;
  const rest = (rowsTogether - own) / (rows * columns - cells);
  return steps === 0 || rest <= 0 ? null : own / cells / rest;
}

function together(days: readonly LineDay[]): LineDay {
  const steps = days.reduce((sum, day) => sum + day.steps, 0);
  return { steps, share: days.reduce((sum, day) => sum + day.share * day.steps, 0) / Math.max(1, steps) };
}

/** Logarithm of how much likelier a day's squares are of an open line than of the sound one it was: normal differences of
 *  variance `openShare` · usual against usual. */
const likelier = ({ share, steps }: LineDay, usual: number): number =>
  ((worth * steps) / 2) * (-Math.log(openShare) - (share / usual) * (1 / openShare - 1));
