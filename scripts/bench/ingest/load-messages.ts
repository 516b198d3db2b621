import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { MinuteRecord } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../../../server/domain/ids.ts";
import { publishPacket } from "./mqtt-bytes.ts";

export interface Prepared {
  readonly packetId: number;
  readonly packet: Buffer;
  /** Of the payload. */
  readonly bytes: number;
}

export interface Shape {
  readonly minutesEach: number;
  /** Of the first message; each of the others is so many minutes younger, up to now. */
  readonly writtenAgoSeconds: number;
}

/** Messages ready to be written to a socket, so that making them costs nothing while the server is measured: of a unit
 *  switched on long enough ago for a month to tell. */
export function prepared(unit: UnitSerial, first: number, count: number, shape: Shape): Prepared[] {
  const { minutesEach, writtenAgoSeconds } = shape;
  const topic = uplinkTopic(unit, "minutes");
  const now = Math.floor(Date.now() / 1_000);
  return Array.from({ length: count }, (_, index) => {
    const sequence = first + index;
    const writtenAgo = Math.max(0, writtenAgoSeconds - 60 * minutesEach * index);
    const uptimeSeconds = now - writtenAgo - switchedOnSeconds;
    const payload = encodeUplink({
      kind: "minutes",
      unit,
      boot: 1,
      sequence,
      uptimeSeconds,
      wallSeconds: switchedOnSeconds + uptimeSeconds,
      firstUptimeSeconds: uptimeSeconds - 60 * minutesEach,
      minutes: Array.from({ length: minutesEach }, (__, minute) => minuteOf(sequence + minute)),
    });
    const packetId = 1 + (sequence % 65_535);
    return { packetId, packet: publishPacket(topic, packetId, payload), bytes: payload.length };
  });
}

/** One and the same for all messages of the process. */
const switchedOnSeconds = Math.floor(Date.now() / 1_000) - 32 * 86_400;

/** Small changes from minute to minute, as on a seat. */
const minuteOf = (number: number): MinuteRecord => ({
  loaded: number % 300 < 200,
  power: "on-battery",
  loadHectograms: number % 300 < 200 ? 600 + ((number * 7) % 23) : (number * 3) % 5,
  centreRightPercent: ((number * 5) % 7) - 3,
  centreFrontPercent: ((number * 3) % 9) - 4,
  cellMillivolts: 4_100 - (number % 900),
  temperatureDecicelsius: 284 + (number % 5),
  signalDecibelMilliwatts: -61 - ((number * 11) % 6),
});
