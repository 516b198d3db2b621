import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../../../server/domain/ids.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import type { Services } from "../../../server/services.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { day, hour } from "../../simulated-cushions/wall-clock.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import { servicesAt } from "./services-at.ts";

/** Two hours into the day after so many. */
export const beforeNext = (days: number): Instant => instant(fleetStart + days * day + 2 * hour);

/** A service's own parts on a folder, at one moment or by a clock, and whatever `act` makes of them. */
export async function inFolder<Made>(
  dataFolder: string,
  now: Instant | (() => Instant),
  act: (services: Services) => Promise<Made>,
): Promise<Made> {
  const database = openDatabase(dataFolder);
  try {
    return await act(servicesAt(database, typeof now === "number" ? () => now : now));
  } finally {
    database.close();
  }
}

/** What a unit of that name would send in so many days of its life. */
export const messagesOf = (unit: UnitSerial, name: string, days: number): readonly UplinkMessage[] =>
  liveUnit(name, { days }).messages.map((message) => ({ ...message, unit }));

/** Stores what was written from one moment to another, as it arrived at the end of that. */
export async function deliver(
  { telemetry }: Services,
  messages: readonly UplinkMessage[],
  from: number,
  until: Instant,
): Promise<void> {
  const now = messages.filter(({ wallSeconds }) => {
    const at = 1_000 * (wallSeconds ?? 0);
    return at >= from && at < until;
  });
  for (let next = 0; next < now.length; next += 500)
    await telemetry.append(
      now.slice(next, next + 500).map((message) => ({
        unit: unitSerial(message.unit),
        topic: uplinkTopic(message.unit, message.kind),
        receivedAt: until,
        payload: encodeUplink(message),
      })),
    );
}
