import { median } from "../statistics/median.ts";
import type { AppliedLoad, PointReading } from "./reading.ts";
import { type Component, rectangular, typeA } from "./uncertainty.ts";

/** A reading with the empty map taken off, frame by frame. */
export interface Response {
  readonly rows: number;
  readonly columns: number;
  readonly frames: readonly (readonly number[])[];
}

/** Mean counts of each cell. */
export const meanMap = ({ frames }: Pick<PointReading, "frames">): number[] =>
  (frames[0] ?? []).map(
    (_, cell) => frames.reduce((sum, frame) => sum + (frame[cell] ?? 0), 0) / frames.length,
  );

export const responseOf = (reading: PointReading, empty: readonly number[]): Response => ({
  rows: reading.rows,
  columns: reading.columns,
  frames: reading.frames.map((frame) => frame.map((count, cell) => count - (empty[cell] ?? 0))),
});

/** A cell that doesn't count takes what the nearest cells that do read on either side of it: in its row, or in its
 *  column where the whole row is out. Assumption: what lies on the bench is wider than two cells. */
export function filled(response: Response, bad: ReadonlySet<number>): Response {
  if (bad.size === 0) return response;
  const { rows, columns } = response;
  const nearest = (cell: number, step: number, steps: number): number | null => {
    for (let at = 1; at <= steps; at += 1) if (!bad.has(cell + at * step)) return cell + at * step;
    return null;
  };
  const sources = new Map(
    [...bad].map((cell) => {
      const row = Math.floor(cell / columns);
      const column = cell % columns;
      const across = [nearest(cell, -1, column), nearest(cell, 1, columns - 1 - column)];
      const along = [nearest(cell, -columns, row), nearest(cell, columns, rows - 1 - row)];
      const inRow = across.filter((each) => each !== null);
      return [cell, inRow.length > 0 ? inRow : along.filter((each) => each !== null)];
    }),
  );
  const fill = (frame: readonly number[]): number[] =>
    frame.map((count, cell) => {
      const from = sources.get(cell);
      if (from === undefined) return count;
      return from.length === 0 ? 0 : from.reduce((sum, each) => sum + (frame[each] ?? 0), 0) / from.length;
    });
  return { ...response, frames: response.frames.map(fill) };
}

export const without = (response: Response, bad: ReadonlySet<number>): Response => ({
  ...response,
  frames: response.frames.map((frame) => frame.map((count, cell) => (bad.has(cell) ? 0 : count))),
});

export const sums = ({ frames }: Response): number[] =>
  frames.map((frame) => frame.reduce((sum, count) => sum + count, 0));

/** Each cell is read in whole counts, once loaded and once empty: half a count either way, independent of its
 *  neighbours. @returns standard uncertainty of a sum over `cells`, counts */
export const countingOf = (cells: number): number => Math.sqrt(2 * cells) * rectangular(0.5);

export interface MeasuredLoad {
  readonly kilograms: number;
  readonly components: readonly Component[];
}

/** What the grid says lies on it. */
export function measuredLoad(response: Response, countsPerKilogram: number): MeasuredLoad {
  const repeats = typeA(sums(response));
  const cells = response.rows * response.columns;
  return {
    kilograms: repeats.mean / countsPerKilogram,
    components: [
      {
        name: "repeats",
        standard: repeats.standard / countsPerKilogram,
        degreesOfFreedom: repeats.degreesOfFreedom,
      },
      { name: "whole counts", standard: countingOf(cells) / countsPerKilogram, degreesOfFreedom: null },
    ],
  };
}

/** What the known load itself adds. */
export const referenceComponents = (load: AppliedLoad): readonly Component[] => [
  { name: "calibration certificate", standard: load.certificate, degreesOfFreedom: null },
  { name: "display of the rig", standard: rectangular(load.resolution / 2), degreesOfFreedom: null },
];

export interface Place {
  /** From the middle of the seat, in cells: right and front are positive. */
  readonly right: number;
  readonly front: number;
}

/** Centre of the load, frame by frame; null where nothing presses. */
export const places = ({ rows, columns, frames }: Response): readonly (Place | null)[] =>
  frames.map((frame) => {
    let total = 0;
    let right = 0;
    let front = 0;
    frame.forEach((count, cell) => {
      total += count;
      right += count * ((cell % columns) - (columns - 1) / 2);
      front += count * ((rows - 1) / 2 - Math.floor(cell / columns));
    });
    return total <= 0 ? null : { right: right / total, front: front / total };
  });

export const typical = (values: readonly number[]): number => median([...values]) ?? 0;
