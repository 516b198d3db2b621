import { rmSync } from "node:fs";
import { setTimeout as wait } from "node:timers/promises";
import { afterAll, beforeAll, expect, it } from "vitest";
import { systemClock } from "../../server/clock.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { openAuthority } from "../../server/enrolment/authority.ts";
import { openDatabase } from "../../server/store/database.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { certify } from "../ingest/broker-rig.ts";
import { testServices, things } from "../support/cast.ts";
import { type IngestChild, startIngest } from "./ingest-child.ts";
import { LoadedUnit } from "./loaded-unit.ts";

/** More rounds: `KILL_ROUNDS=50 npx vitest run tests/faults/kill-under-load.test.ts`. */
const rounds = Number(process.env.KILL_ROUNDS ?? 3);
const shortestRound = 250;
const longestRound = 1_600;
const unitCount = 6;

let dataFolder: string;
let child: IngestChild | null = null;
const units: LoadedUnit[] = [];

beforeAll(async () => {
  const services = testServices();
  dataFolder = services.dataFolder;
  const authority = await openAuthority({ dataFolder, clock: systemClock, brokerHosts: [] });
  for (let number = 0; number < unitCount; number++) {
    const serial = unitSerial(`CU-0005${String(number).padStart(2, "0")}`);
    services.db
      .insert(unit)
      .values({
        serial,
        modelId: things.model,
        lotId: things.lot,
        place: "on-loan",
        placeSince: services.clock.now(),
      })
      .run();
    units.push(new LoadedUnit(await certify(authority, services.db, serial)));
  }
  services.database.close();
});

afterAll(async () => {
  await child?.kill();
  rmSync(dataFolder, { recursive: true, force: true });
});

async function startServer(planted: readonly string[] = []): Promise<number> {
  child = await startIngest(dataFolder, planted);
  return child.port;
}

async function killServer(): Promise<void> {
  await child?.kill();
  for (const loaded of units) loaded.hangUp();
}

/** What a restarted server finds of each unit: the sequences it has, and how many minutes it reads back. */
async function found(): Promise<ReadonlyMap<UnitSerial, { sequences: Set<number>; minutes: number }>> {
  const database = openDatabase(dataFolder);
  const store = createTelemetryStore(database);
  const sequencesOf = database.driver
    .prepare<[string], number>("select sequence from message where unit_serial = ?")
    .pluck();
  const always = { start: instant(0), end: instant(4_102_444_800_000) };
  const result = new Map<UnitSerial, { sequences: Set<number>; minutes: number }>();
  for (const { credentials } of units) {
    const record = await store.read(credentials.unit, always);
    result.set(credentials.unit, {
      sequences: new Set(sequencesOf.all(credentials.unit)),
      minutes: record.minutes.length,
    });
  }
  database.close();
  return result;
}

async function loadAndKill(planted: readonly string[] = []): Promise<void> {
  const port = await startServer(planted);
  await Promise.all(units.map((loaded) => loaded.connect(port)));
  const before = units.map(({ acknowledged }) => acknowledged.size);
  for (const loaded of units) loaded.load();
  // However slow the machine: the kill comes while every unit is being served.
  while (units.some(({ acknowledged }, at) => acknowledged.size === before[at])) await wait(20);
  await wait(shortestRound + Math.random() * (longestRound - shortestRound));
  await killServer();
}

/** How many messages the units were told are safe, by acknowledgement or receipt, and aren't there. */
async function promisedButMissing(): Promise<number> {
  const stored = await found();
  return units
    .map(({ credentials, acknowledged, receipted }) => {
      const there = stored.get(credentials.unit)?.sequences ?? new Set<number>();
      return new Set([...acknowledged, ...receipted].filter((sequence) => !there.has(sequence))).size;
    })
    .reduce((sum, missing) => sum + missing, 0);
}

it(
  `nothing acknowledged or receipted is lost when the server is killed under load, ${rounds} times`,
  async () => {
    for (let round = 0; round < rounds; round++) {
      await loadAndKill();
      expect(await promisedButMissing()).toBe(0);
    }
    expect(units.some(({ receipted }) => receipted.size > 0)).toBe(true);
    const acknowledged = units.reduce((sum, loaded) => sum + loaded.acknowledged.size, 0);
    console.log(`${acknowledged} messages acknowledged over ${rounds} kills, none missing`);
  },
  30_000 + rounds * 10_000,
);

it("what is sent again after the kills, acknowledged before or not, is counted once", async () => {
  const port = await startServer();
  await Promise.all(units.map((loaded) => loaded.connect(port)));
  await Promise.all(
    units.map((loaded) => loaded.resend([...loaded.unsettled(), ...[...loaded.acknowledged].slice(-200)])),
  );
  await killServer();
  const stored = await found();
  for (const { credentials, written } of units) {
    expect(stored.get(credentials.unit)?.sequences.size).toBe(written);
    expect(stored.get(credentials.unit)?.minutes).toBe(written);
  }
}, 60_000);

it("this check goes red on a server that acknowledges a little before it commits", async () => {
  await loadAndKill(["acknowledging-early"]);
  expect(await promisedButMissing()).toBeGreaterThan(0);
}, 30_000);
