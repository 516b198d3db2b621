import type { RecordedFrame } from "../record/unit-record.ts";
import { type Instant, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import { cellsOf, type LinePlace, linesOf, placeOf } from "./lines.ts";
import type { BrokenSince } from "./unbroken-evidence.ts";

/** How much the lines of a grid flickered in one day where nothing pressed on them: an open line carries no current, and so
 *  hardly any noise, whatever load it would have. Whole numbers, by `linesOf`. */
export interface Flicker {
  readonly at: Instant | null;
  /** Differences of a cell from one picture to the next: how many, and the sum of their squares. */
  readonly steps: Float64Array;
  readonly squares: Float64Array;
  /** Mean square of the line that a quarter of them are quieter than: a body that sways makes the lines under it restless,
   *  and leaves those. 0: nothing to go by. */
  readonly quiet: number;
}

export const noFlicker: Flicker = {
  at: null,
  steps: new Float64Array(0),
  squares: new Float64Array(0),
  quiet: 0,
};

/** Counts above empty up to which a cell carries nothing, and the largest difference that is noise: noise of a sound cell
 *  is about one count, and a jump is something put down or taken away. Assumptions. */
const idleUpTo = 3;
const largestStep = 4;

/** @param frames of one day and shape, oldest first, whether somebody sits or not: outside the body's print a cell is as
 *  idle under a sit as without one; @param offsets what each cell reads empty */
export function flickerOf(
  frames: readonly RecordedFrame[],
  offsets: Float32Array,
  shape: GridShape,
): Flicker {
  const steps = new Float64Array(offsets.length);
  const squares = new Float64Array(offsets.length);
  for (let next = 1; next < frames.length; next++) {
    const [before, now] = [frames[next - 1]?.cells, frames[next]?.cells];
    if (!before || !now) continue;
    for (let cell = 0; cell < offsets.length; cell++) {
      const [was, is] = [before[cell] ?? 0, now[cell] ?? 0];
      const step = is - was;
      if (Math.max(was, is) > (offsets[cell] ?? 0) + idleUpTo || Math.abs(step) > largestStep) continue;
      steps[cell] = (steps[cell] ?? 0) + 1;
      squares[cell] = (squares[cell] ?? 0) + step * step;
    }
  }
  const ofLines = (ofCell: Float64Array): Float64Array =>
    Float64Array.from(linesOf(shape), ({ line, index }) =>
      cellsOf(line, index, shape).reduce((sum, cell) => sum + (ofCell[cell] ?? 0), 0),
    );
  const told = { steps: ofLines(steps), squares: ofLines(squares) };
  return { at: frames[0]?.at ?? null, ...told, quiet: quietOf(told) };
}

function quietOf({ steps, squares }: Pick<Flicker, "steps" | "squares">): number {
  const means = squares
    .map((sum, line) => sum / Math.max(1, steps[line] ?? 0))
    .filter((_, line) => steps[line]);
  return means.sort()[means.length >> 2] ?? 0;
}

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
 *  day by day, from the day that makes most of it (CUSUM; Page 1954, Biometrika 41:100). The quiet lines of the same
 *  day are the measure, so that a noisier or quieter room changes nothing.
 *  @param days oldest first, of one grid; @returns null where it flickers, or too little is known */
export function quietSince(days: readonly Flicker[], place: LinePlace, shape: GridShape): BrokenSince | null {
  const line = placeOf(place, shape);
  const told = days.flatMap((day) => {
    const steps = day.steps[line] ?? 0;
    return steps === 0 || day.quiet === 0
      ? []
      : [{ at: day.at, share: (day.squares[line] ?? 0) / steps / day.quiet, steps }];
  });
  let best = 0;
  let since: number | null = null;
  for (let from = told.length - 1; from > 0; from--) {
    const before = together(told.slice(0, from));
    if (before.steps < fewestBefore || before.share < leastUsual) break;
    // What sways a little flickers more than noise does; an idle line may merely have stopped swaying.
    const usual = Math.min(1, before.share);
    const sum = told.slice(from).reduce((all, day) => all + likelier(day, usual), 0);
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

function together(days: readonly LineDay[]): LineDay {
  const steps = days.reduce((sum, day) => sum + day.steps, 0);
  return { steps, share: days.reduce((sum, day) => sum + day.share * day.steps, 0) / Math.max(1, steps) };
}

/** Logarithm of how much likelier a day's squares are of an open line than of the sound one it was: normal differences of
 *  variance `openShare` · usual against usual. */
const likelier = ({ share, steps }: LineDay, usual: number): number =>
  ((worth * steps) / 2) * (-Math.log(openShare) - (share / usual) * (1 / openShare - 1));
