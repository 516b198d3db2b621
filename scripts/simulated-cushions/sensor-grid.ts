import type { Fault } from "./faults.ts";
import { liesOtherwise } from "./lying.ts";
import { type Random, randomFrom } from "./random.ts";
import { type Footprint, footprint, type GridModel, type SeatLoad } from "./seat-load.ts";
import { day, type Moment } from "./wall-clock.ts";

export const countsPerKilogram = 30;
const fullScale = 255;
const calibrationCelsius = 25;
/** A resistive textile reads more when warm; the size is our own choice within what is usual (0.1 to 0.5 %/°C). */
const gainPerCelsius = 0.002;
/** Creep of a few per cent to 20 % over 30 to 60 minutes, about linear in log time (from memory). */
const creepPerDecade = 0.04;
/** People don't sit down in the same place twice: how far off the middle, mm. */
const placesToSit = [-14, -7, 0, 7, 14] as const;

export interface SeatMoment {
  readonly at: Moment;
  /** null: nobody sits. */
  readonly load: SeatLoad | null;
  readonly minutesSeated: number;
  readonly celsius: number;
  /** Which of the places to sit was taken, 0 to 4. */
  readonly place: number;
}

/** The textile grid as the electronics read it: load times each cell's own gain, offset, temperature, creep, noise,
 *  and whatever is broken. */
export class SensorGrid {
  readonly model: GridModel;
  /** Empty reading of each cell when the unit was made: the firmware keeps this table and subtracts it. */
  readonly factoryOffsets: Float64Array;
  readonly #gains: Float64Array;
  readonly #footprints: readonly Footprint[];
  readonly #faults: readonly Fault[];
  readonly #random: Random;
  readonly #noiseKept: Float64Array;
  #noiseAt = 0;

  constructor(model: GridModel, faults: readonly Fault[], seed: string) {
    this.model = model;
    this.#faults = faults;
    const made = randomFrom(`${seed}/grid-made`);
    const cells = model.rows * model.columns;
    this.factoryOffsets = Float64Array.from({ length: cells }, () => Math.max(2, made.normal(8, 1.2)));
    this.#gains = Float64Array.from({ length: cells }, () => Math.max(0.8, made.normal(1, 0.04)));
    this.#footprints = placesToSit.map((shift) => footprint(model, shift));
    this.#random = randomFrom(`${seed}/grid-noise`);
    this.#noiseKept = Float64Array.from({ length: noiseLength }, () => triangular(this.#random));
  }

  /** One reading of every cell, 0 to 255 counts. */
  read(moment: SeatMoment): Uint8Array {
    const { rows, columns } = this.model;
    const print = this.#footprints[moment.place];
    const { load } = moment;
    return this.#read(rows * columns, moment.at, gainAt(moment.celsius, moment.minutesSeated), (cell) =>
      load && print ? kilogramsOn(cell, load, print) : 0,
    );
  }

  /** The same under whatever lies on it.
   *  @param kilograms on each cell; `minutes`: for how long already */
  readPressed(
    kilograms: Float64Array,
    { at, minutes, celsius }: { readonly at: Moment; readonly minutes: number; readonly celsius: number },
  ): Uint8Array {
    return this.#read(kilograms.length, at, gainAt(celsius, minutes), (cell) => kilograms[cell] ?? 0);
  }

  #read(cells: number, at: Moment, gain: number, kilogramsOn: (cell: number) => number): Uint8Array {
    const counts = new Uint8Array(cells);
    this.#noiseAt = this.#random.bits();
    for (let cell = 0; cell < counts.length; cell += 1) {
      const pressed = kilogramsOn(cell) * gain * (this.#gains[cell] ?? 1);
      counts[cell] = clampCount((this.factoryOffsets[cell] ?? 0) + pressed + this.#noise());
    }
    for (const fault of this.#faults) if (fault.from <= at) this.#spoil(counts, fault, at);
    return counts;
  }

  /** What the electronics find by driving every line and cell in turn: lines and cells that carry no current, and
   *  cells that carry one with nothing on them. */
  test(at: Moment) {
    const { rows, columns } = this.model;
    const failedCells = new Set<number>();
    const failedRows = new Set<number>();
    const failedColumns = new Set<number>();
    for (const fault of this.#faults) {
      if (fault.from > at) continue;
      if (fault.kind === "row-open") failedRows.add(fault.row);
      else if (fault.kind === "column-open") failedColumns.add(fault.column);
      else if (fault.kind === "cell-open" || fault.kind === "cell-stuck")
        failedCells.add(fault.row * columns + fault.column);
    }
    const ascending = (places: Set<number>): number[] => [...places].sort((a, b) => a - b);
    return {
      passed: failedCells.size + failedRows.size + failedColumns.size === 0,
      rows,
      columns,
      cellsTested: rows * columns,
      cellsFailed: failedCells.size,
      failedCells: ascending(failedCells).slice(0, 256),
      failedRows: ascending(failedRows),
      failedColumns: ascending(failedColumns),
    };
  }

  /** Drawn once and read from another place each time: drawing it anew for every cell of every minute would take most
   *  of the simulation's time. */
  #noise(): number {
    this.#noiseAt += 1;
    return this.#noiseKept[this.#noiseAt & (noiseLength - 1)] ?? 0;
  }

  #spoil(counts: Uint8Array, fault: Fault, at: Moment): void {
    const { rows, columns } = this.model;
    switch (fault.kind) {
      case "column-open":
        for (let row = 0; row < rows; row += 1) this.#open(counts, row * columns + fault.column);
        return;
      case "row-open":
        for (let column = 0; column < columns; column += 1) this.#open(counts, fault.row * columns + column);
        return;
      case "cell-open":
        this.#open(counts, fault.row * columns + fault.column);
        return;
      case "cell-stuck":
        counts[fault.row * columns + fault.column] = fault.counts;
        return;
      case "zero-drift": {
        const drift = Math.min(fault.upTo, (fault.countsPerDay * (at - fault.from)) / day);
        for (let cell = Math.floor(rows * 0.6) * columns; cell < counts.length; cell += 1) {
          counts[cell] = clampCount((counts[cell] ?? 0) + drift + this.#noise() / 2);
        }
        return;
      }
      case "insert-shifted":
      case "turned-round":
      case "edge-folded":
      case "cover-loose":
        liesOtherwise(counts, fault, at, this.model, this.factoryOffsets, () => this.#noise());
        return;
      case "capacity-fade":
      case "reset-loop":
      case "charge-heat":
      case "cold-place":
      case "early-cut-off":
      case "worn-plug":
      case "leaky-cell":
      case "wet":
        return;
    }
  }

  /** An open line carries no current whatever presses on it: its own empty reading stays, with hardly any noise. */
  #open(counts: Uint8Array, cell: number): void {
    counts[cell] = clampCount((this.factoryOffsets[cell] ?? 0) + this.#noise() / 3);
  }
}

const gainAt = (celsius: number, minutes: number): number =>
  countsPerKilogram *
  (1 + gainPerCelsius * (celsius - calibrationCelsius)) *
  (1 + creepPerDecade * Math.log10(1 + minutes));

const kilogramsOn = (cell: number, load: SeatLoad, print: Footprint): number =>
  load.leftBone * (print.leftBone[cell] ?? 0) +
  load.leftThigh * (print.leftThigh[cell] ?? 0) +
  load.rightBone * (print.rightBone[cell] ?? 0) +
  load.rightThigh * (print.rightThigh[cell] ?? 0);

/** A power of two, and not a multiple of any grid's cells. */
const noiseLength = 8_192;

/** About one count either way. */
function triangular(random: Random): number {
  const bits = random.bits();
  return ((bits & 0xffff) - (bits >>> 16)) / 0xa000;
}

export const placesToSitCount = placesToSit.length;

const clampCount = (value: number): number => Math.min(fullScale, Math.max(0, Math.round(value)));
