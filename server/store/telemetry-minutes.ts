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
} from "../domain/units.ts";
import { humidityAt, isLoadedAt, type MinuteColumns, powerAt, signalAt } from "./telemetry-minute-columns.ts";

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

/** Lays minutes on the whole minutes of true time, each at most once.
 *
 *  A unit's minutes begin at any second; each is put on the whole minute nearest to its start, so that days are tiled
 *  exactly and no two of a unit overlap. Within a boot consecutive minutes stay consecutive: where the anchor followed
 *  a drifting clock between two messages and rounding would skip a minute, the next one closes up. Where two fall on
 *  the same minute (a fast unit's clock counts a few more than there are) the one that arrived first stays, so that a
 *  later arrival never changes what was seen before.
 *
 *  @param runs in the order (boot, sequence) */
export function wholeMinutes(runs: readonly MinuteRun[]): RecordedMinute[] {
  const laid: RecordedMinute[] = [];
  let boot = -1;
  let uptime = 0;
  let slot = 0;
  let inOrder = true;
  for (const run of runs) {
    for (let index = 0; index < run.count; index++) {
      const before = slot;
      const follows = boot === run.boot && run.firstUptimeSeconds + index * 60 - uptime === 60;
      slot = Math.round((run.start + index * millisecondsIn.minute) / millisecondsIn.minute);
      if (follows && slot === before + 2) slot = before + 1;
      uptime = run.firstUptimeSeconds + index * 60;
      boot = run.boot;
      if (slot <= before && laid.length > 0) inOrder = false;
      laid.push(minuteFrom(run, index, instant(slot * millisecondsIn.minute)));
    }
  }
  if (inOrder) return laid;
  laid.sort((a, b) => a.at - b.at || a.receivedAt - b.receivedAt);
  return laid.filter((minute, place) => place === 0 || minute.at !== laid[place - 1]?.at);
}

function minuteFrom(
  { columns, from, boot, receivedAt }: MinuteRun,
  index: number,
  at: Instant,
): RecordedMinute {
  const place = from + index;
  const signal = signalAt(columns, place);
  const humidity = humidityAt(columns, place);
  const minute: RecordedMinute = {
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
  return humidity === null ? minute : { ...minute, humidity: percent(humidity) };
}
