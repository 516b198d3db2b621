import pino from "pino";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { systemChance } from "../../../server/chance.ts";
import { type UnitSerial, unitSerial } from "../../../server/domain/ids.ts";
import { zoneName } from "../../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import { createLiveEvents } from "../../../server/live.ts";
import { assessUnit } from "../../../server/programme/assess-unit.ts";
import { reviewUnit } from "../../../server/programme/review-unit.ts";
import type { Services } from "../../../server/services.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { loan } from "../../../server/store/schema/loans.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import { day, hour } from "../../simulated-cushions/wall-clock.ts";
import { benchUnit } from "../ingest/life.ts";
import { programmeFolder } from "../ingest/programme-folder.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import { type BenchOptions, middleOf, type Row, round } from "./rows.ts";

const fleet = 10_000;
const moreDays = 6;

/** Processor time of bringing a unit up to date for one more day, times ten thousand: from the store and back into it, as
 *  the service does, findings and audit included. Twice, after two weeks of history and after eight: what grows with
 *  history would show. */
export async function oneMoreDay({ quick, seed }: BenchOptions): Promise<Row> {
  const units = quick ? 4 : 24;
  const young = await secondsAfter(quick ? 10 : 14, units, seed);
  const old = await secondsAfter(quick ? 20 : 56, units, seed);
  const seconds = Math.max(young, old);
  return {
    name: "health of 10,000 units brought up to date for one more day, one core",
    value: round(seconds, 1),
    unit: "s",
    bar: "< 60, cost set by the new day",
    holds: seconds < 60 && old < 1.5 * young,
    beside: `from ${units} units through the store: ${round(young, 1)} s after ${quick ? 10 : 14} days of history, ${round(old, 1)} s after ${quick ? 20 : 56}`,
  };
}

async function secondsAfter(days: number, units: number, seed: number): Promise<number> {
  const folder = await programmeFolder(units);
  const database = openDatabase(folder.dataFolder);
  try {
    const clock = { at: instant(fleetStart) };
    const services = servicesOn(database, () => clock.at);
    const lends = instant(fleetStart);
    services.db.update(loan).set({ openedAt: lends, startedAt: lends }).run();
    const serials = Array.from({ length: units }, (_, unit) => benchUnit(unit));
    const lives = serials.map((serial, unit) =>
      messagesOf(serial, `${seed}/day/${unit}`, days + moreDays + 1),
    );
    const deliverDays = async (from: number, to: number): Promise<void> => {
      clock.at = instant(fleetStart + to * day + 2 * hour);
      for (const messages of lives) await deliver(services, messages, fleetStart + from * day, clock.at);
    };
    const bringUp = async (): Promise<void> => {
      for (const serial of serials) await assessUnit(services, serial);
    };
    const settle = async (): Promise<void> => {
      for (const serial of serials) await reviewUnit(services, serial);
      while (await services.telemetry.tidy(clock.at, 1_000));
    };
    await deliverDays(0, days);
    await bringUp();
    await settle();
    // The first days warm the machine up, as the first hundred of ten thousand units do.
    const spent: number[] = [];
    for (let more = 0; more < moreDays; more++) {
      await deliverDays(days + more + 2 / 24, days + more + 1 + 2 / 24);
      const begun = process.cpuUsage();
      await bringUp();
      const { user, system } = process.cpuUsage(begun);
      spent.push((user + system) / 1e6);
      await settle();
    }
    return (middleOf(spent.slice(-3)) / units) * fleet;
  } finally {
    database.close();
    folder.remove();
  }
}

function servicesOn(database: ReturnType<typeof openDatabase>, now: () => Instant): Services {
  const zone = zoneName("Europe/London");
  if (zone === null) throw new Error("no such zone");
  return {
    clock: { now },
    chance: systemChance,
    zone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: pino({ level: "silent" }),
  };
}

const messagesOf = (unit: UnitSerial, name: string, days: number): readonly UplinkMessage[] =>
  liveUnit(name, { days }).messages.map((message) => ({ ...message, unit }));

async function deliver(
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
