import { normalCdf } from "../statistics/normal.ts";
import { solveLinear } from "../statistics/solve-linear.ts";

/** Average number of points until a chart signals, of independent standard normal points shifted by `shift`. A chart's
 *  state is cut into steps and followed as a Markov chain: Brook and Evans 1972, Biometrika 59:539. */
const states = 100;

/** One-sided tabular CUSUM with allowance k and limit h, both in standard deviations, from zero. */
export function cusumRunLength(k: number, h: number, shift: number): number {
  const width = (2 * h) / (2 * states - 1);
  const move = (from: number, to: number): number => {
    // State 0 holds everything at or below half a step; the others are centred on whole steps.
    const step = (to - from) * width + k - shift;
    return to === 0 ? normalCdf(step + width / 2) : normalCdf(step + width / 2) - normalCdf(step - width / 2);
  };
  return runLengths(move)[0] ?? Number.NaN;
}

/** Two-sided, both sums at once: the reciprocals add (Kemp 1961, J R Stat Soc B 23:149). */
export const twoSidedCusumRunLength = (k: number, h: number, shift: number): number =>
  1 / (1 / cusumRunLength(k, h, shift) + 1 / cusumRunLength(k, h, -shift));

/** Two-sided EWMA with steady-state limits of `width` standard deviations, from its target. */
export function ewmaRunLength(lambda: number, width: number, shift: number): number {
  const limit = width * Math.sqrt(lambda / (2 - lambda));
  const odd = states + 1;
  const step = (2 * limit) / odd;
  const at = (state: number): number => -limit + (state + 0.5) * step;
  const move = (from: number, to: number): number => {
    const needed = (edge: number): number => (edge - (1 - lambda) * at(from)) / lambda - shift;
    return normalCdf(needed(at(to) + step / 2)) - normalCdf(needed(at(to) - step / 2));
  };
  return runLengths(move, odd)[(odd - 1) / 2] ?? Number.NaN;
}

/** (I − Q) L = 1, where Q moves between states that don't signal. */
function runLengths(move: (from: number, to: number) => number, size = states): number[] {
  const matrix = Array.from({ length: size }, (_, from) =>
    Array.from({ length: size }, (_, to) => (from === to ? 1 : 0) - move(from, to)),
  );
  return solveLinear(
    matrix,
    matrix.map(() => 1),
  );
}

/** The limit at which a run without any change lasts `runLength` points on average.
 *  @param lengthAt grows with the limit; @param between where to look */
export function limitFor(
  runLength: number,
  lengthAt: (limit: number) => number,
  [low, high]: readonly [number, number],
): number {
  let least = low;
  let most = high;
  for (let halving = 0; halving < 20; halving++) {
    const middle = (least + most) / 2;
    if (lengthAt(middle) < runLength) least = middle;
    else most = middle;
  }
  return (least + most) / 2;
}
