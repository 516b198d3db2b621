import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { fleetStart, type Lived, liveUnit, type UnitOrder } from "../../scripts/bench/health/fleet.ts";
import type { Habits } from "../../scripts/simulated-cushions/person.ts";
import type { UnitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant, millisecondsIn } from "../../server/domain/units.ts";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { lookForIdentityTrouble } from "../../server/programme/look-for-identity-trouble.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import type { TestServices } from "../support/cast.ts";

const day = 24 * millisecondsIn.hour;
/** Six in the morning in London on Monday 4 May 2026. */
export const livedFrom = instant(fleetStart);
export const dayOfLife = (days: number): Instant => instant(fleetStart + days * day);

/** A cushion under somebody whose days are all there: no absence, no change of habits. */
export const steadyLife = (name: string, order: UnitOrder, reliefs: Partial<Habits["reliefs"]> = {}): Lived =>
  liveUnit(name, {
    ...order,
    person: (drawn) => ({
      ...drawn,
      absences: [],
      changes: [],
      habits: {
        ...drawn.habits,
        seatedHours: { mean: 11, deviation: 0 },
        reliefs: { ...drawn.habits.reliefs, fullPerSeatedHour: 2, ...reliefs },
      },
    }),
  });

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

/** What came in by then, worked through as the review job does it. */
export async function workedThroughAt(
  services: TestServices,
  unit: UnitSerial,
  sent: readonly IncomingMessage[],
  at: Instant,
): Promise<void> {
  const since = services.clock.now();
  services.clock.set(at);
  await services.telemetry.append(sent.filter(({ receivedAt }) => receivedAt > since && receivedAt <= at));
  await assessUnit(services, unit);
  await lookForIdentityTrouble(services, unit);
  await reviewUnit(services, unit);
}
