import { firstMinuteFrom } from "../domain/record/entries-within.ts";
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

/** Minutes at their places in time, and where in their columns they are. */
export interface LaidMinutes {
  /** Start of each, ascending: whole minutes of true time. */
  readonly at: Float64Array;
  /** Tile `at`: columns are gone through piece by piece, for to look each minute up makes a year three times as dear. */
  readonly pieces: readonly Piece[];
}

/** Minutes that follow each other in time and in one run's columns: `count` of them, from place `from` on. */
interface Piece {
  readonly run: MinuteRun;
  readonly from: number;
  readonly count: number;
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
  const at = new Float64Array(runs.reduce((sum, run) => sum + run.count, 0));
  let next = 0;
  let before = { boot: -1, uptime: 0, slot: 0 };
  let inOrder = true;
  for (const run of runs) {
    let slot = Math.round(run.start / millisecondsIn.minute);
    const follows = before.boot === run.boot && run.firstUptimeSeconds - before.uptime === 60;
    // Within a run each minute lies a whole one after the last: where the first closes up, all of them do.
    if (follows && slot === before.slot + 2) slot = before.slot + 1;
    if (slot <= before.slot && next > 0) inOrder = false;
    for (let minute = 0; minute < run.count; minute++) at[next++] = (slot + minute) * millisecondsIn.minute;
    const last = run.count - 1;
    before = { boot: run.boot, uptime: run.firstUptimeSeconds + last * 60, slot: slot + last };
  }
  const laid = { at, pieces: runs.map((run) => ({ run, from: run.from, count: run.count })) };
  return inOrder ? laid : firstArrived(laid);
}

/** In the order of time, of those on one minute the one that arrived first. */
function firstArrived({ at, pieces }: LaidMinutes): LaidMinutes {
  const pieceOf = new Int32Array(at.length);
  const placeOf = new Int32Array(at.length);
  let next = 0;
  for (const [number, { from, count }] of pieces.entries())
    for (let minute = 0; minute < count; minute++) {
      pieceOf[next] = number;
      placeOf[next++] = from + minute;
    }
  const arrived = (laid: number): number =>
    pieces[pieceOf[laid] ?? -1]?.run.receivedAt[placeOf[laid] ?? -1] ?? 0;
  const order = Int32Array.from(at, (_, laid) => laid)
    .sort((a, b) => (at[a] ?? 0) - (at[b] ?? 0) || arrived(a) - arrived(b) || a - b)
    .filter((laid, rank, all) => rank === 0 || at[laid] !== at[all[rank - 1] ?? -1]);
  return {
    at: Float64Array.from(order, (laid) => at[laid] ?? 0),
    pieces: joined(order, pieces, pieceOf, placeOf),
  };
}

function joined(
  order: Int32Array,
  pieces: readonly Piece[],
  pieceOf: Int32Array,
  placeOf: Int32Array,
): Piece[] {
  const found: Piece[] = [];
  let first = 0;
  for (let rank = 1; rank <= order.length; rank++) {
    const before = order[rank - 1] ?? 0;
    const laid = order[rank] ?? -1;
    const goesOn =
      laid >= 0 && pieceOf[laid] === pieceOf[before] && placeOf[laid] === (placeOf[before] ?? 0) + 1;
    if (goesOn) continue;
    const run = pieces[pieceOf[before] ?? -1]?.run;
    if (run) found.push({ run, from: placeOf[order[first] ?? 0] ?? 0, count: rank - first });
    first = rank;
  }
  return found;
}

/** Those that start within `span`. */
export function laidWithin({ at, pieces }: LaidMinutes, { start, end }: Span): LaidMinutes {
  const first = firstMinuteFrom(at, start);
  const past = firstMinuteFrom(at, end);
  let next = 0;
  const within = pieces.flatMap(({ run, from, count }) => {
    const skipped = Math.max(0, first - next);
    const kept = Math.min(count, past - next) - skipped;
    next += count;
    return kept > 0 ? [{ run, from: from + skipped, count: kept }] : [];
  });
  return { at: at.subarray(first, past), pieces: within };
}

export function seatMinutesIn({ at, pieces }: LaidMinutes): SeatMinutes {
  const state = new Uint8Array(at.length);
  let next = 0;
  for (const { run, from, count } of pieces) {
    const { flags } = run.columns;
    for (let place = from; place < from + count; place++) state[next++] = seatStates[flags[place] ?? 0] ?? 0;
  }
  return { at, state };
}

/** By the flags of a minute. */
const seatStates = Uint8Array.from({ length: 256 }, (_, flags) => {
  const columns = { flags: Uint8Array.of(flags) };
  return seatStateOf(isLoadedAt(columns, 0), powerAt(columns, 0) === "on-battery");
});

export function loadMinutesIn({ at, pieces }: LaidMinutes): LoadMinutes {
  const loaded = new Uint8Array(at.length);
  const load = new Float64Array(at.length);
  const centreRight = new Float64Array(at.length);
  const centreFront = new Float64Array(at.length);
  let next = 0;
  for (const { run, from, count } of pieces) {
    const { loadHectograms, centreRightPercent, centreFrontPercent } = run.columns;
    centreRight.set(centreRightPercent.subarray(from, from + count), next);
    centreFront.set(centreFrontPercent.subarray(from, from + count), next);
    for (let place = from; place < from + count; place++) {
      loaded[next] = isLoadedAt(run.columns, place) ? 1 : 0;
      load[next++] = (loadHectograms[place] ?? 0) / 10;
    }
  }
  return { at, loaded, load, centreRight, centreFront };
}

export function minutesIn({ at, pieces }: LaidMinutes): RecordedMinute[] {
  const minutes: RecordedMinute[] = [];
  for (const { run, from, count } of pieces)
    for (let place = from; place < from + count; place++)
      minutes.push(minuteFrom(run, place, instant(at[minutes.length] ?? 0)));
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
