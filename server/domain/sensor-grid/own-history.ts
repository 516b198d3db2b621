import { median } from "../statistics/median.ts";
import type { GridShape, Line } from "./expected-response.ts";
import type { Sit } from "./sits.ts";
import { type BrokenSince, brokenSince, type Look } from "./unbroken-evidence.ts";

/** Sits in which a line must have been seen at work before its silence means anything. Assumption. */
const fewestBefore = 10;
const fewestAsked = 8;
/** Chance that a line is broken before any look. Assumption, as for lines judged by their neighbours. */
const prior = 0.001;
/** However seldom a sound line was silent, somebody may sit anew. Assumption. */
const leastSilent = 0.03;
const ceiling = 0.97;

/** A line that hardly any load reaches, such as an outer column, promises nothing by its neighbours; but it used to
 *  read something in nearly every sit, and now never does, while the line inside it reads as much as before.
 *  @param sits oldest first; @param cells of the line; @param inner cells of the line beside it that carries more
 *  @returns null where it answers, or where it never did */
export function silentAgainstItself(
  sits: readonly Sit[],
  cells: readonly number[],
  inner: readonly number[],
): BrokenSince | null {
  // The noise of a mean of several readings is a fraction of a count a cell.
  const noise = Math.sqrt(cells.length);
  const readings = sits.map((sit) => ({
    at: sit.at,
    line: sumOver(sit, cells),
    inner: sumOver(sit, inner),
    noisy: sumOfSizes(sit, cells),
  }));
  const usualInner = median(readings.map((reading) => reading.inner)) ?? 0;
  if (usualInner <= 0) return null;
  const asked = readings.filter((reading) => reading.inner > 0.6 * usualInner);
  const looks = asked.map(({ at, line, noisy }): Look => ({ at, broken: line < noise && noisy < 2 * noise }));
  const found = brokenSince(looks, { prior, ifBroken: 0.95, ifSound: leastSilent, ceiling });
  if (!found || found.agreeing < fewestAsked) return null;
  const before = asked.filter(({ at }) => at < found.since);
  if (before.length < fewestBefore) return null;
  // It must have stood clear of the noise.
  if ((median(before.map(({ line }) => line)) ?? 0) < 1.5 * noise) return null;
  const silentBefore = looks.filter(({ at, broken }) => at < found.since && broken).length;
  const ifSound = Math.max(leastSilent, (silentBefore + 1) / (before.length + 2));
  return brokenSince(looks, { prior, ifBroken: 0.95, ifSound, ceiling });
}

const sumOver = ({ response }: Sit, cells: readonly number[]): number =>
  cells.reduce((sum, cell) => sum + (response[cell] ?? 0), 0);
const sumOfSizes = ({ response }: Sit, cells: readonly number[]): number =>
  cells.reduce((sum, cell) => sum + Math.abs(response[cell] ?? 0), 0);

/** The neighbouring line that carries more, over all sits. */
export function innerNeighbour(
  sits: readonly Sit[],
  line: Line,
  index: number,
  shape: GridShape,
  cellsOf: (line: Line, index: number, shape: GridShape) => number[],
): number[] {
  const last = (line === "row" ? shape.rows : shape.columns) - 1;
  const sides = [index - 1, index + 1].filter((side) => side >= 0 && side <= last);
  const carried = sides.map((side) => {
    const cells = cellsOf(line, side, shape);
    return { cells, load: sits.reduce((sum, sit) => sum + sumOver(sit, cells), 0) };
  });
  return carried.sort((a, b) => b.load - a.load)[0]?.cells ?? [];
}
