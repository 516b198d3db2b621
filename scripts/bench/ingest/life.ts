import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../../../server/domain/ids.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import type { IncomingMessage } from "../../../server/store/telemetry-port.ts";
import { SimulatedCushion } from "../../simulated-cushions/cushion.ts";
import { drawPerson } from "../../simulated-cushions/population.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";

export const lifeStarts: Instant = instant(Date.UTC(2026, 4, 4));
const dayMilliseconds = 86_400_000;

export const benchUnit = (number: number): UnitSerial => unitSerial(`CU-${String(200_000 + number)}`);

/** What one cushion sends that tells of each minute as it ends: minutes, reliefs, frames, all of it. */
export function livedBy(person: number, days: number, seed: string): readonly UplinkMessage[] {
  const name = `bench/${seed}/${person}`;
  const situation = { person: drawPerson(name), personSeed: name, zone: "Europe/London" };
  const spec = {
    serial: benchUnit(person),
    firmware: "2.4.1",
    hardware: "C",
    grid: { rows: 10, columns: 10, pitchMillimetres: 42 },
    battery: { ratedMilliampHours: 1_200, health: 0.97, charge: 0.9 },
    storeLimit: 3_000_000,
    clockDriftPartsPerMillion: 14,
    faults: [],
    radio: { signal: { mean: -62, deviation: 4 }, outages: [] },
  };
  const cushion = new SimulatedCushion(spec, situation, name, lifeStarts, { tell: () => {} });
  cushion.reportEvery(1);
  cushion.follow({ version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lean-left", "lean-right"] });
  cushion.receive({ kind: "receipt", stored: [], serverUnixSeconds: lifeStarts / 1_000 }, lifeStarts);
  return cushion.advance(lifeStarts + days * dayMilliseconds);
}

/** The same life again, later and with boots counted on, as another unit's. */
export function retold(
  message: UplinkMessage,
  unit: UnitSerial,
  again: { boots: number; later: number },
): UplinkMessage {
  const { wallSeconds } = message;
  return {
    ...message,
    unit,
    boot: message.boot + again.boots,
    wallSeconds: wallSeconds === null ? null : wallSeconds + again.later / 1_000,
  };
}

/** As it comes in: a moment after it was written, the network's delays drawn by the seed. */
export function arriving(
  messages: readonly UplinkMessage[],
  bootedAt: (boot: number) => number,
  seed: string,
): IncomingMessage[] {
  const random = randomFrom(`bench/${seed}/network`);
  return messages.map((message) => ({
    unit: unitSerial(message.unit),
    topic: uplinkTopic(message.unit, message.kind),
    receivedAt: instant(
      Math.round((message.wallSeconds ?? bootedAt(message.boot)) * 1_000 + 40 + 250 * random.exponential()),
    ),
    payload: encodeUplink(message),
  }));
}
