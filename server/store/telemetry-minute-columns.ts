import type { MinuteRecord } from "../../firmware-protocol/src/messages.ts";
import { powerStates } from "../../firmware-protocol/src/messages.ts";
import type { VarintReader, VarintWriter } from "./telemetry-varints.ts";

/** Minutes as columns: a value changes little from one minute to the next, so each column packs well by itself, and
 *  reading a month makes no object a minute. */
export interface MinuteColumns {
  /** Bit 0 loaded, bits 1 and 2 the place in `powerStates`, bit 3: a signal was measured, bit 4: humidity was. */
  readonly flags: Uint8Array;
  readonly loadHectograms: Int32Array;
  readonly centreRightPercent: Int32Array;
  readonly centreFrontPercent: Int32Array;
  readonly cellMillivolts: Int32Array;
  readonly temperatureDecicelsius: Int32Array;
  /** 0 where none was measured. */
  readonly signalDecibelMilliwatts: Int32Array;
  /** 0 where none was measured. */
  readonly humidityPercent: Int32Array;
}

const loadedBit = 1;
const signalBit = 8;
const humidityBit = 16;

type Flagged = Pick<MinuteColumns, "flags">;

export const isLoadedAt = ({ flags }: Flagged, at: number): boolean => ((flags[at] ?? 0) & loadedBit) !== 0;
export const powerAt = ({ flags }: Flagged, at: number): MinuteRecord["power"] =>
  powerStates[((flags[at] ?? 0) >> 1) & 3] ?? "on-battery";
export const signalAt = (columns: MinuteColumns, at: number): number | null =>
  (columns.flags[at] ?? 0) & signalBit ? (columns.signalDecibelMilliwatts[at] ?? 0) : null;

export const humidityAt = (columns: MinuteColumns, at: number): number | null =>
  (columns.flags[at] ?? 0) & humidityBit ? (columns.humidityPercent[at] ?? 0) : null;

const emptyColumns = (count: number): MinuteColumns => ({
  flags: new Uint8Array(count),
  loadHectograms: new Int32Array(count),
  centreRightPercent: new Int32Array(count),
  centreFrontPercent: new Int32Array(count),
  cellMillivolts: new Int32Array(count),
  temperatureDecicelsius: new Int32Array(count),
  signalDecibelMilliwatts: new Int32Array(count),
  humidityPercent: new Int32Array(count),
});

export function columnsOf(minutes: readonly MinuteRecord[]): MinuteColumns {
  const columns = emptyColumns(minutes.length);
  for (const [at, minute] of minutes.entries()) {
    const signal = minute.signalDecibelMilliwatts;
    columns.flags[at] =
      (minute.loaded ? loadedBit : 0) |
      (powerStates.indexOf(minute.power) << 1) |
      (signal === null ? 0 : signalBit) |
      (minute.humidityPercent === undefined ? 0 : humidityBit);
    columns.loadHectograms[at] = minute.loadHectograms;
    columns.centreRightPercent[at] = minute.centreRightPercent;
    columns.centreFrontPercent[at] = minute.centreFrontPercent;
    columns.cellMillivolts[at] = minute.cellMillivolts;
    columns.temperatureDecicelsius[at] = minute.temperatureDecicelsius;
    columns.signalDecibelMilliwatts[at] = signal ?? 0;
    columns.humidityPercent[at] = minute.humidityPercent ?? 0;
  }
  return columns;
}

/** For a field that not every minute has: set, and not spread into a copy, which an engine keeps as a slow dictionary. */
export type Writable<Of> = { -readonly [Key in keyof Of]: Of[Key] };

export function minuteAt(columns: MinuteColumns, at: number): MinuteRecord {
  const humidity = humidityAt(columns, at);
  const minute: Writable<MinuteRecord> = {
    loaded: isLoadedAt(columns, at),
    power: powerAt(columns, at),
    loadHectograms: columns.loadHectograms[at] ?? 0,
    centreRightPercent: columns.centreRightPercent[at] ?? 0,
    centreFrontPercent: columns.centreFrontPercent[at] ?? 0,
    cellMillivolts: columns.cellMillivolts[at] ?? 0,
    temperatureDecicelsius: columns.temperatureDecicelsius[at] ?? 0,
    signalDecibelMilliwatts: signalAt(columns, at),
  };
  if (humidity !== null) minute.humidityPercent = humidity;
  return minute;
}

const numberColumns = [
  "loadHectograms",
  "centreRightPercent",
  "centreFrontPercent",
  "cellMillivolts",
  "temperatureDecicelsius",
] as const;

/** Flags as they are; then each column's differences; signal and humidity only where there are any, so that blocks
 *  packed before humidity was kept read the same. */
export function writeColumns(out: VarintWriter, columns: MinuteColumns): void {
  out.addBytes(columns.flags);
  for (const name of numberColumns) writeDifferences(out, columns[name]);
  writeDifferences(
    out,
    columns.signalDecibelMilliwatts.filter((_, at) => ((columns.flags[at] ?? 0) & signalBit) !== 0),
  );
  writeDifferences(
    out,
    columns.humidityPercent.filter((_, at) => ((columns.flags[at] ?? 0) & humidityBit) !== 0),
  );
}

/** Columns that are read when somebody asks for them: a ledger asks for the flags alone.
 *  @throws RangeError when the bytes have ended */
export function readColumns(from: VarintReader, count: number): MinuteColumns {
  const flags = from.nextBytes(count);
  const later = (values: number): (() => Int32Array) => {
    const column = from.fork();
    from.skip(values);
    return () => column.nextSteps(new Int32Array(values));
  };
  const whole = numberColumns.map(() => later(count));
  const signal = later(countWith(flags, signalBit));
  const humidity = later(countWith(flags, humidityBit));
  return new PackedColumns(flags, [
    ...whole,
    () => spreadWhere(flags, signalBit, signal()),
    () => spreadWhere(flags, humidityBit, humidity()),
  ]);
}

class PackedColumns implements MinuteColumns {
  readonly flags: Uint8Array;
  readonly #read: readonly (() => Int32Array)[];
  readonly #known: (Int32Array | undefined)[] = [];

  constructor(flags: Uint8Array, read: readonly (() => Int32Array)[]) {
    this.flags = flags;
    this.#read = read;
  }

  get loadHectograms(): Int32Array {
    return this.#column(0);
  }
  get centreRightPercent(): Int32Array {
    return this.#column(1);
  }
  get centreFrontPercent(): Int32Array {
    return this.#column(2);
  }
  get cellMillivolts(): Int32Array {
    return this.#column(3);
  }
  get temperatureDecicelsius(): Int32Array {
    return this.#column(4);
  }
  get signalDecibelMilliwatts(): Int32Array {
    return this.#column(5);
  }
  get humidityPercent(): Int32Array {
    return this.#column(6);
  }

  #column(place: number): Int32Array {
    const known = this.#known[place];
    if (known !== undefined) return known;
    const column = this.#read[place]?.() ?? new Int32Array(0);
    this.#known[place] = column;
    return column;
  }
}

function countWith(flags: Uint8Array, bit: number): number {
  let count = 0;
  for (let at = 0; at < flags.length; at++) if ((flags[at] ?? 0) & bit) count += 1;
  return count;
}

function spreadWhere(flags: Uint8Array, bit: number, values: Int32Array): Int32Array {
  if (values.length === flags.length) return values;
  const column = new Int32Array(flags.length);
  for (let at = 0, next = 0; next < values.length; at++)
    if ((flags[at] ?? 0) & bit) column[at] = values[next++] ?? 0;
  return column;
}

function writeDifferences(out: VarintWriter, values: Int32Array): void {
  let before = 0;
  for (const value of values) {
    out.add(value - before);
    before = value;
  }
}
