import type { LoadMinutes } from "../domain/record/load-minutes.ts";
import { type SeatMinutes, seatStateOf } from "../domain/record/seat-minutes.ts";
import type { RecordedMinute } from "../domain/record/unit-record.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  kilograms,
  millisecondsIn,
  millivolts,
  percent,
  type Span,
} from "../domain/units.ts";
import {
  humidityAt,
  isLoadedAt,
  type MinuteColumns,
  powerAt,
  signalAt,
  type Writable,
} from "./telemetry-minute-columns.ts";

/** Minutes of one boot that follow each other without a step, of one message or of several: `count` of them in the
 *  columns, from place `from` on. */
export interface MinuteRun {
  readonly boot: number;
  readonly sequence: number;
  /** Start of the first, in true time. */
  readonly start: Instant;
  readonly firstUptimeSeconds: number;
  readonly columns: MinuteColumns;
  readonly receivedAt: Float64Array;
  readonly from: number;
  readonly count: number;
}

/** Minutes at their places: the n-th lies on the whole minute `at[n]` and is number `index[n]` of run `run[n]`. */
export interface LaidMinutes {
  /** Ascending. */
  readonly at: Float64Array;
  readonly run: Int32Array;
  readonly index: Int32Array;
  readonly runs: readonly MinuteRun[];
}

/** Lays minutes on the whole minutes of true time, each at most once.
 *
 *  A unit's minutes begin at any second; each is put on the whole minute nearest to its start, so that days are tiled
 *  exactly and no two of a unit overlap. Within a boot consecutive minutes stay consecutive: where the anchor followed
 *  a drifting clock between two messages and rounding would skip a minute, the next one closes up. Where two fall on
 *  the same minute (a fast unit's clock counts a few more than there are) the one that arrived first stays, so that a
 *  later arrival never changes what was seen before.
 *
 *  @param runs in the order (boot, sequence) */
export function wholeMinutes(runs: readonly MinuteRun[]): LaidMinutes {
  const count = runs.reduce((sum, run) => sum + run.count, 0);
  const at = new Float64Array(count);
  const run = new Int32Array(count);
  const index = new Int32Array(count);
  let next = 0;
  let boot = -1;
  let uptime = 0;
  let slot = 0;
  let inOrder = true;
  for (const [number, each] of runs.entries()) {
    for (let minute = 0; minute < each.count; minute++) {
      const before = slot;
      const now = each.firstUptimeSeconds + minute * 60;
      const follows = boot === each.boot && now - uptime === 60;
      slot = Math.round((each.start + minute * millisecondsIn.minute) / millisecondsIn.minute);
      if (follows && slot === before + 2) slot = before + 1;
      uptime = now;
      boot = each.boot;
      if (slot <= before && next > 0) inOrder = false;
      at[next] = slot * millisecondsIn.minute;
      run[next] = number;
      index[next] = minute;
      next++;
    }
  }
  const laid = { at, run, index, runs };
  return inOrder ? laid : firstArrived(laid);
}

/** In the order of time, of those on one minute the one that arrived first. */
function firstArrived(laid: LaidMinutes): LaidMinutes {
  const { at, run, index, runs } = laid;
  const arrived = (place: number): number => {
    const of = runs[run[place] ?? -1];
    return of?.receivedAt[of.from + (index[place] ?? 0)] ?? 0;
  };
  const order = Int32Array.from(at, (_, place) => place)
    .sort((a, b) => (at[a] ?? 0) - (at[b] ?? 0) || arrived(a) - arrived(b) || a - b)
    .filter((place, rank, all) => rank === 0 || at[place] !== at[all[rank - 1] ?? -1]);
  return {
    at: Float64Array.from(order, (place) => at[place] ?? 0),
    run: Int32Array.from(order, (place) => run[place] ?? 0),
    index: Int32Array.from(order, (place) => index[place] ?? 0),
    runs,
  };
}

/** Those that start within `span`. */
export function laidWithin(laid: LaidMinutes, { start, end }: Span): LaidMinutes {
  let from = 0;
  let to = laid.at.length;
  while (from < to && (laid.at[from] ?? 0) < start) from += 1;
  while (to > from && (laid.at[to - 1] ?? 0) >= end) to -= 1;
  const { at, run, index, runs } = laid;
  return { at: at.subarray(from, to), run: run.subarray(from, to), index: index.subarray(from, to), runs };
}

/** Minutes that follow each other in the columns of one run too: `count` of them, from place `from` on. */
interface Piece {
  readonly columns: MinuteColumns;
  readonly next: number;
  readonly from: number;
  readonly count: number;
}

/** Columns are gone through piece by piece: to ask each minute for its run makes a year three times as dear. */
function piecesOf({ run, index, runs }: LaidMinutes): Piece[] {
  const pieces: Piece[] = [];
  let next = 0;
  for (let place = 1; place <= run.length; place++) {
    if (place < run.length && run[place] === run[next] && index[place] === (index[place - 1] ?? 0) + 1)
      continue;
    const of = runs[run[next] ?? -1];
    if (of === undefined) throw new Error("a minute of no run");
    pieces.push({ columns: of.columns, next, from: of.from + (index[next] ?? 0), count: place - next });
    next = place;
  }
  return pieces;
}

export function seatMinutesIn(laid: LaidMinutes): SeatMinutes {
  const state = new Uint8Array(laid.at.length);
  for (const { columns, next, from, count } of piecesOf(laid))
    for (let minute = 0; minute < count; minute++) {
      const onBattery = powerAt(columns, from + minute) === "on-battery";
      state[next + minute] = seatStateOf(isLoadedAt(columns, from + minute), onBattery);
    }
  return { at: laid.at, state };
}

export function loadMinutesIn(laid: LaidMinutes): LoadMinutes {
  const { at } = laid;
  const loaded = new Uint8Array(at.length);
  const load = new Float64Array(at.length);
  const centreRight = new Float64Array(at.length);
  const centreFront = new Float64Array(at.length);
  for (const { columns, next, from, count } of piecesOf(laid)) {
    const { loadHectograms, centreRightPercent, centreFrontPercent } = columns;
    for (let minute = 0; minute < count; minute++) {
      loaded[next + minute] = isLoadedAt(columns, from + minute) ? 1 : 0;
      load[next + minute] = (loadHectograms[from + minute] ?? 0) / 10;
    }
    centreRight.set(centreRightPercent.subarray(from, from + count), next);
    centreFront.set(centreFrontPercent.subarray(from, from + count), next);
  }
  return { at, loaded, load, centreRight, centreFront };
}

export function minutesIn({ at, run, index, runs }: LaidMinutes): RecordedMinute[] {
  const minutes: RecordedMinute[] = [];
  for (let next = 0; next < at.length; next++) {
    const of = runs[run[next] ?? -1];
    if (of !== undefined) minutes.push(minuteFrom(of, of.from + (index[next] ?? 0), instant(at[next] ?? 0)));
  }
  return minutes;
}

function minuteFrom({ columns, boot, receivedAt }: MinuteRun, place: number, at: Instant): RecordedMinute {
  const signal = signalAt(columns, place);
  const humidity = humidityAt(columns, place);
  const minute: Writable<RecordedMinute> = {
    at,
    receivedAt: instant(receivedAt[place] ?? 0),
    boot,
    seat: isLoadedAt(columns, place) ? "loaded" : "empty",
    load: kilograms((columns.loadHectograms[place] ?? 0) / 10),
    centreRight: columns.centreRightPercent[place] ?? 0,
    centreFront: columns.centreFrontPercent[place] ?? 0,
    cell: millivolts(columns.cellMillivolts[place] ?? 0),
    power: powerAt(columns, place),
    temperature: celsius((columns.temperatureDecicelsius[place] ?? 0) / 10),
    signal: signal === null ? null : decibelMilliwatts(signal),
  };
  if (humidity !== null) minute.humidity = percent(humidity);
  return minute;
}
