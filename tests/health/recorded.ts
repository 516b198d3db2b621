import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { type UnitHealth, unitHealth } from "../../server/domain/condition/unit-health.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant, type Span } from "../../server/domain/units.ts";
import { localDaysOf } from "../../server/programme/assessed-span.ts";
import type { TelemetryStore } from "../../server/store/telemetry-port.ts";
import type { Lived } from "../simulated-cushions/cast.ts";
import { testServices, testZone } from "../support/cast.ts";

/** Hands a cushion's messages over as they would come in, all at once. */
export async function deliver(
  telemetry: TelemetryStore,
  messages: readonly UplinkMessage[],
  receivedAt: Instant,
): Promise<void> {
  for (let from = 0; from < messages.length; from += 500)
    await telemetry.append(
      messages.slice(from, from + 500).map((message) => ({
        unit: unitSerial(message.unit),
        topic: uplinkTopic(message.unit, message.kind),
        receivedAt,
        payload: encodeUplink(message),
      })),
    );
}

/** What the console makes of a cushion that lived under somebody, through the wire and the store. */
export const healthOf = (lived: Lived, from: number, days: number): Promise<UnitHealth> =>
  healthOfMessages(lived.cushion.store.messages, from, days);

export async function healthOfMessages(
  messages: readonly UplinkMessage[],
  from: number,
  days: number,
): Promise<UnitHealth> {
  const over: Span = { start: instant(from), end: instant(from + days * 86_400_000) };
  const serial = messages[0]?.unit;
  if (serial === undefined) throw new Error("the cushion never said anything");
  const services = testServices({ empty: true });
  try {
    await deliver(services.telemetry, messages, over.end);
    const record = await services.telemetry.read(unitSerial(serial), over);
    return unitHealth(record, over, localDaysOf(over, testZone), over.end);
  } finally {
    services.close();
  }
}
