import type { RecordedFrame } from "../../../server/domain/record/unit-record.ts";
import { type Random, randomFrom } from "../../simulated-cushions/random.ts";
import type { GridModel } from "../../simulated-cushions/seat-load.ts";

/** Offsets and gains of a simulated grid: its own parameters, drawn again from its own stream. */
export interface GridMade {
  readonly grid: GridModel;
  readonly offsets: readonly number[];
  readonly gains: readonly number[];
}

export function gridMade(name: string, grid: GridModel): GridMade {
  const made = randomFrom(`${name}/CU-000001/grid-made`);
  const cells = grid.rows * grid.columns;
  const offsets = Array.from({ length: cells }, () => Math.max(2, made.normal(8, 1.2)));
  const gains = Array.from({ length: cells }, () => Math.max(0.8, made.normal(1, 0.04)));
  return { grid, offsets, gains };
}

/** Physics of faults that the simulated grid doesn't have, laid over what it read from `from` on. */
export type Spoil = (load: readonly number[], at: number, sit: number) => Spoilt;

/** `load` in counts of a cell of gain 1; `added` counts whatever presses; `silent` cells carry no current. */
export interface Spoilt {
  readonly load: readonly number[];
  readonly added?: readonly number[];
  readonly silent?: ReadonlySet<number>;
  /** Cells that read the same: pairs joined by a short. */
  readonly joined?: readonly (readonly [number, number])[];
}

export function spoilFrames(
  frames: readonly RecordedFrame[],
  made: GridMade,
  from: number,
  spoil: Spoil,
): RecordedFrame[] {
  let sit = 0;
  let was = "empty";
  return frames.map((frame) => {
    if (frame.seat === "loaded" && was === "empty") sit++;
    was = frame.seat;
    if (frame.at < from) return frame;
    const load = Array.from(
      frame.cells,
      (count, cell) => (count - (made.offsets[cell] ?? 0)) / (made.gains[cell] ?? 1),
    );
    const { load: now, added, silent, joined } = spoil(load, frame.at, sit);
    const counts = now.map((kilo, cell) => {
      const offset = made.offsets[cell] ?? 0;
      if (silent?.has(cell)) return offset;
      return offset + kilo * (made.gains[cell] ?? 1) + (added?.[cell] ?? 0);
    });
    for (const [a, b] of joined ?? []) {
      const offset = ((made.offsets[a] ?? 0) + (made.offsets[b] ?? 0)) / 2;
      const both = (counts[a] ?? 0) + (counts[b] ?? 0) - offset;
      counts[a] = both;
      counts[b] = both;
    }
    const cells = Uint8Array.from(counts, (count) => Math.min(255, Math.max(0, Math.round(count))));
    return { ...frame, cells };
  });
}

type Cell = readonly [row: number, column: number];

/** The load as it lands on a grid that lies otherwise: each cell gets what `from` says. */
const landed =
  ({ rows, columns }: GridModel, from: (row: number, column: number) => Cell): Spoil =>
  (load) => ({
    load: load.map((_, cell) => {
      const [row, column] = from(Math.floor(cell / columns), cell % columns);
      return row < 0 || column < 0 || row >= rows || column >= columns
        ? 0
        : (load[row * columns + column] ?? 0);
    }),
  });

/** Of the seven ways a square insert can lie wrong, one. */
export function turned(grid: GridModel, way: number): Spoil {
  const lastRow = grid.rows - 1;
  const last = grid.columns - 1;
  const ways: readonly ((row: number, column: number) => Cell)[] = [
    (row, column) => [row, last - column],
    (row, column) => [lastRow - row, last - column],
    (row, column) => [lastRow - row, column],
    (row, column) => [column, row],
    (row, column) => [lastRow - column, row],
    (row, column) => [column, last - row],
    (row, column) => [lastRow - column, last - row],
  ];
  return landed(grid, ways[way] ?? ((row, column) => [row, column]));
}

/** The line is silent in two sits of five; what it is in a sit it stays. */
export function looseColumn({ rows, columns }: GridModel, column: number, name: string): Spoil {
  const silent = new Set(Array.from({ length: rows }, (_, row) => row * columns + column));
  return (load, _, sit) => (randomFrom(`${name}/sit/${sit}`).chance(0.4) ? { load, silent } : { load });
}

export function shortedRows({ columns }: GridModel, row: number): Spoil {
  const joined = Array.from({ length: columns }, (_, column): readonly [number, number] => [
    row * columns + column,
    (row + 1) * columns + column,
  ]);
  return (load) => ({ load, joined });
}

/** Grows over three hours to some 60 mm, and dries with a time constant of ten. */
export function wetPatch(grid: GridModel, from: number, random: Random): Spoil {
  const middle = {
    row: grid.rows * random.uniform(0.4, 0.8),
    column: grid.columns * random.uniform(0.3, 0.7),
  };
  return (load, at) => {
    const hours = (at - from) / 3_600_000;
    const height = 70 * Math.min(1, hours / 3) * Math.exp(-Math.max(0, hours - 3) / 10);
    const reach = (60 * Math.min(1, 0.4 + hours / 5)) / grid.pitchMillimetres;
    const added = load.map((_, cell) => {
      const away = Math.hypot(
        Math.floor(cell / grid.columns) - middle.row,
        (cell % grid.columns) - middle.column,
      );
      return height * Math.exp(-0.5 * (away / reach) ** 2);
    });
    return { load, added };
  };
}

/** The same weight on narrower peaks. */
export const bottoming: Spoil = (load) => {
  const whole = load.reduce((sum, count) => sum + Math.max(0, count), 0);
  if (whole < 50 * Math.sqrt(load.length)) return { load };
  const sharp = load.map((count) => Math.max(0, count) ** 1.5);
  const scale = whole / sharp.reduce((sum, count) => sum + count, 0);
  return { load: sharp.map((count) => count * scale) };
};

/** A bag put down on the empty seat, for one reading: a mimic. */
export function objectLeft(grid: GridModel, until: number): Spoil {
  return (load, at) => ({
    load,
    added: load.map((_, cell) =>
      at < until && Math.floor(cell / grid.columns) < 2 && cell % grid.columns < 3 ? 40 : 0,
    ),
  });
}
