import type { MinuteRecord, Minutes } from "../../firmware-protocol/src/messages.ts";
import type { RecordedMinute } from "../domain/record/unit-record.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  kilograms,
  millisecondsIn,
  millivolts,
} from "../domain/units.ts";

export interface StoredMinutes {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly message: Minutes;
}

/** Lays minutes on the whole minutes of true time, each at most once.
 *
 *  A unit's minutes begin at any second; each is put on the whole minute nearest to its start, so that days are tiled
 *  exactly and no two of a unit overlap. Within a boot consecutive minutes stay consecutive: where the anchor followed
 *  a drifting clock between two messages and rounding would skip a minute, the next one closes up. Where two fall on
 *  the same minute (a fast unit's clock counts a few more than there are) the one that arrived first stays, so that a
 *  later arrival never changes what was seen before.
 *
 *  @param stored in the order (boot, sequence) */
export function wholeMinutes(stored: readonly StoredMinutes[]): RecordedMinute[] {
  const laid: RecordedMinute[] = [];
  let previous: { boot: number; uptime: number; slot: number } | null = null;
  for (const { at, receivedAt, message } of stored) {
    for (const [index, record] of message.minutes.entries()) {
      const uptime: number = message.firstUptimeSeconds + index * 60;
      let slot: number = Math.round((at + index * millisecondsIn.minute) / millisecondsIn.minute);
      const follows: boolean = previous?.boot === message.boot && uptime - previous.uptime === 60;
      if (follows && previous !== null && slot === previous.slot + 2) slot = previous.slot + 1;
      previous = { boot: message.boot, uptime, slot };
      laid.push(minuteFrom(record, instant(slot * millisecondsIn.minute), receivedAt, message.boot));
    }
  }
  laid.sort((a, b) => a.at - b.at || a.receivedAt - b.receivedAt);
  return laid.filter((minute, place) => place === 0 || minute.at !== laid[place - 1]?.at);
}

const minuteFrom = (
  record: MinuteRecord,
  at: Instant,
  receivedAt: Instant,
  boot: number,
): RecordedMinute => ({
  at,
  receivedAt,
  boot,
  seat: record.loaded ? "loaded" : "empty",
  load: kilograms(record.loadHectograms / 10),
  centreRight: record.centreRightPercent,
  centreFront: record.centreFrontPercent,
  cell: millivolts(record.cellMillivolts),
  power: record.power,
  temperature: celsius(record.temperatureDecicelsius / 10),
  signal: record.signalDecibelMilliwatts === null ? null : decibelMilliwatts(record.signalDecibelMilliwatts),
});
