import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../../../server/domain/ids.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import type { IncomingMessage } from "../../../server/store/telemetry-port.ts";

/** Reports of one minute each from these units in turn, as they arrive. */
export function reportsOf(units: readonly UnitSerial[], count: number, from: Instant): IncomingMessage[] {
  const bootedAt = from / 1_000;
  return Array.from({ length: count }, (_, index) => {
    const unit = units[index % units.length];
    if (unit === undefined) throw new Error("no units");
    const sequence = Math.floor(index / units.length);
    const uptimeSeconds = 60 * (sequence + 1);
    const payload = encodeUplink({
      kind: "minutes",
      unit,
      boot: 1,
      sequence,
      uptimeSeconds,
      wallSeconds: bootedAt + uptimeSeconds,
      firstUptimeSeconds: uptimeSeconds - 60,
      minutes: [
        {
          loaded: true,
          power: "on-battery",
          loadHectograms: 600 + (index % 23),
          centreRightPercent: index % 5,
          centreFrontPercent: -(index % 7),
          cellMillivolts: 4_000 - (index % 90),
          temperatureDecicelsius: 284,
          signalDecibelMilliwatts: -61 - (index % 5),
        },
      ],
    });
    const receivedAt = instant((bootedAt + uptimeSeconds) * 1_000 + (index % units.length));
    return { unit, topic: uplinkTopic(unit, "minutes"), receivedAt, payload };
  });
}
