import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../../../server/domain/ids.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import { assessUnit } from "../../../server/programme/assess-units.ts";
import { reviewUnit } from "../../../server/programme/review-unit.ts";
import type { Services } from "../../../server/services.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { loan } from "../../../server/store/schema/loans.ts";
import { day, hour } from "../../simulated-cushions/wall-clock.ts";
import { benchUnit } from "../ingest/life.ts";
import { programmeFolder } from "../ingest/programme-folder.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import type { SecondsSpent } from "./one-more-day-process.ts";
import { type BenchOptions, middleOf, type Row, round } from "./rows.ts";
import { servicesAt } from "./services-at.ts";

const fleet = 10_000;

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
  const now = instant(fleetStart + (days + 1) * day + 2 * hour);
  try {
    await recordedUntil(folder.dataFolder, { days, units, seed });
    const args = ["--import", "tsx", script, folder.dataFolder, String(units), String(now)];
    const spent: SecondsSpent = JSON.parse(
      execFileSync(process.execPath, args, { encoding: "utf8", stdio: ["ignore", "pipe", "inherit"] }),
    );
    return (middleOf(spent) / units) * fleet;
  } finally {
    folder.remove();
  }
}

const script = join(import.meta.dirname, "one-more-day-process.ts");

/** These days as a service keeps them, told and packed, and one more day that has come and that nobody has looked at. */
async function recordedUntil(
  dataFolder: string,
  { days, units, seed }: { readonly days: number; readonly units: number; readonly seed: number },
): Promise<void> {
  const database = openDatabase(dataFolder);
  try {
    const clock = { at: instant(fleetStart) };
    const services = servicesAt(database, () => clock.at);
    services.db.update(loan).set({ openedAt: clock.at, startedAt: clock.at }).run();
    const serials = Array.from({ length: units }, (_, unit) => benchUnit(unit));
    const lives = serials.map((serial, unit) => messagesOf(serial, `${seed}/day/${unit}`, days + 2));
    const deliverDays = async (from: number, to: number): Promise<void> => {
      clock.at = instant(fleetStart + to * day + 2 * hour);
      for (const messages of lives) await deliver(services, messages, fleetStart + from * day, clock.at);
    };
    await deliverDays(0, days);
    for (const serial of serials) await reviewUnit(services, serial);
    while (await services.telemetry.tidy(clock.at, 1_000));
    // A review lets go of the days it had news of: they are told after it.
    for (const serial of serials) await assessUnit(services, serial);
    await deliverDays(days + 2 / 24, days + 1);
  } finally {
    database.close();
  }
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
