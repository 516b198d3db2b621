import type { Span } from "../units.ts";
import { firstMinuteFrom } from "./entries-within.ts";
import type { RecordedMinute, UnitRecord } from "./unit-record.ts";

/** What recorded minutes say of how somebody sat, as columns: a year of habits is summed without an object a minute. */
export interface LoadMinutes {
  /** Start of each, ascending: instants in true time. */
  readonly at: Float64Array;
  /** 1: loaded. */
  readonly loaded: Uint8Array;
  /** Kilograms. */
  readonly load: Float64Array;
  /** Per cent of the half width and half depth. */
  readonly centreRight: Float64Array;
  readonly centreFront: Float64Array;
}

/** Where they are at hand as columns, no minute is made to be asked. */
export const loadMinutesOf = (record: Pick<UnitRecord, "minutes" | "loadMinutes">): LoadMinutes =>
  record.loadMinutes ?? columnsOf(record.minutes);

const columnsOf = (minutes: readonly RecordedMinute[]): LoadMinutes => ({
  at: Float64Array.from(minutes, ({ at }) => at),
  loaded: Uint8Array.from(minutes, ({ seat }) => (seat === "loaded" ? 1 : 0)),
  load: Float64Array.from(minutes, ({ load }) => load),
  centreRight: Float64Array.from(minutes, ({ centreRight }) => centreRight),
  centreFront: Float64Array.from(minutes, ({ centreFront }) => centreFront),
});

/** Those that start within `span`: a view, nothing is copied. */
export function loadMinutesWithin(all: LoadMinutes, { start, end }: Span): LoadMinutes {
  const from = firstMinuteFrom(all.at, start);
  const to = firstMinuteFrom(all.at, end);
  return {
    at: all.at.subarray(from, to),
    loaded: all.loaded.subarray(from, to),
    load: all.load.subarray(from, to),
    centreRight: all.centreRight.subarray(from, to),
    centreFront: all.centreFront.subarray(from, to),
  };
}
