import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { type UnitHealth, unitHealth } from "../../server/domain/condition/unit-health.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import type { UnitRecord } from "../../server/domain/record/unit-record.ts";
import { dayBounds, daysTouched } from "../../server/domain/time/local-day.ts";
import { type Instant, instant, type Span } from "../../server/domain/units.ts";
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

/** What the console would hold of a cushion that lived under somebody from `from`, through the wire and the store. */
export async function recorded(lived: Lived, over: Span): Promise<UnitRecord> {
  const services = testServices({ empty: true });
  try {
    await deliver(services.telemetry, lived.cushion.store.messages, over.end);
    return await services.telemetry.read(unitSerial(lived.cushion.spec.serial), over);
  } finally {
    services.close();
  }
}

export async function healthOf(lived: Lived, from: number, days: number): Promise<UnitHealth> {
  const over = { start: instant(from), end: instant(from + days * 86_400_000) };
  return unitHealth(await recorded(lived, over), over, localDaysOf(over), over.end);
}

const localDaysOf = (over: Span): Span[] =>
  daysTouched(over, testZone).map((day) => {
    const { start, end } = dayBounds(day, testZone);
    return { start: instant(Math.max(start, over.start)), end: instant(Math.min(end, over.end)) };
  });
