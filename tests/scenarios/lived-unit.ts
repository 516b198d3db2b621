import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { fleetStart, type Lived } from "../../scripts/bench/health/fleet.ts";
import type { UnitSerial } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";

const day = 24 * millisecondsIn.hour;
export const livedFrom = instant(fleetStart);
export const dayOfLife = (days: number) => instant(fleetStart + days * day);

/** What a simulated cushion wrote, as the broker would hand it over: a minute after it was written. */
export function sentBy({ messages }: Pick<Lived, "messages">, unit: UnitSerial): IncomingMessage[] {
  let received = fleetStart;
  return messages.map((message) => {
    received = message.wallSeconds === null ? received : 1_000 * message.wallSeconds + 60_000;
    return {
      unit,
      topic: uplinkTopic(unit, message.kind),
      receivedAt: instant(received),
      payload: encodeUplink({ ...message, unit }),
    };
  });
}
