import type { MqttClient } from "mqtt";
import { expect, it, onTestFinished } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { benchUnit } from "../../scripts/bench/ingest/life.ts";
import { startLoad, startServer } from "../../scripts/bench/ingest/processes.ts";
import { programmeFolder } from "../../scripts/bench/ingest/programme-folder.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { openDatabase } from "../../server/store/database.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import type { TelemetryStore } from "../../server/store/telemetry-port.ts";
import { type BrokerRig, brokerRig, connectUnit } from "../ingest/broker-rig.ts";
import { minutesUpTo } from "../ingest/cushion-messages.ts";
import { things } from "../support/cast.ts";
import { until } from "./until.ts";

const isWhole = process.env.FAULTS === "whole";
const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const minutesEach = 30;
const messagesOfADay = (24 * 60) / minutesEach;

it("what is live is committed in the next group, though three days of many units came in before it", async () => {
  const late = Array.from({ length: 36 }, (_, number) => unitSerial(`CU-0006${10 + number}`));
  const live = [things.lentUnit, things.stockUnit];
  const each = 3 * messagesOfADay;
  const groups: UnitSerial[][] = [];
  let letGo = (): void => {};
  const held = new Promise<void>((resolve) => {
    letGo = resolve;
  });
  const rig = await brokerRig((real) => holdingFirst(real, held, groups));
  try {
    const clients = await connected(rig, late, live);
    const now = rig.services.clock.now();
    const send = (who: UnitSerial, sequence: number, minutes: number, writtenAgo: number) => {
      const bootedAt = now - 4 * 86_400_000;
      const uptime = 4 * 86_400 - writtenAgo;
      const message = minutesUpTo({ unit: who, sequence, uptime, bootedAt }, minutes);
      const payload = Buffer.from(encodeUplink(message));
      return clients.get(who)?.publishAsync(uplinkTopic(who, "minutes"), payload, { qos: 1 });
    };
    const kept = (who: UnitSerial, at: number) => send(who, at, minutesEach, 60 * minutesEach * (each - at));
    const first = late.slice(0, 1).map((who) => kept(who, 0));
    await until(() => groups.length === 1);
    const backlog = late.flatMap((who) => Array.from({ length: each }, (_, at) => kept(who, at)));
    // More than a whole group, which has a thousand. Of each unit no more is read than may be on its way at once.
    await until(() => waiting(rig, "backlog") > 1_500);
    const reports = live.map((who) => send(who, 0, 1, 0));
    await until(() => waiting(rig, "live") === live.length);
    letGo();
    await Promise.all([...first, ...backlog, ...reports]);

    const [, next = [], ...rest] = groups;
    expect(live.filter((who) => next.includes(who))).toEqual(live);
    expect(rest.flat().length).toBeGreaterThan(1_000);
    expect(rig.broker.counters()).toMatchObject({
      stored: backlog.length + reports.length,
      // The one that was sent twice.
      duplicates: first.length,
      keptAside: 0,
      noRoom: 0,
    });
    for (const who of late) {
      const { minutes, holes } = await rig.services.telemetry.read(who, everything);
      expect([new Set(minutes.map(({ at }) => at)).size, minutes.length, holes]).toEqual([
        each * minutesEach,
        each * minutesEach,
        [],
      ]);
    }
  } finally {
    await rig.stop();
  }
}, 60_000);

/** The store, whose first commit lasts until it is let go, so that everything after it waits; notes who was in which. */
function holdingFirst(real: TelemetryStore, held: Promise<void>, groups: UnitSerial[][]): TelemetryStore {
  return {
    ...real,
    append: async (batch) => {
      groups.push(batch.map(({ unit }) => unit));
      if (groups.length === 1) await held;
      return await real.append(batch);
    },
  };
}

const waiting = (rig: BrokerRig, urgency: "live" | "backlog"): number =>
  Number(new RegExp(`waiting_messages\\{[^}]*"${urgency}"\\} (\\d+)`).exec(rig.broker.metrics())?.[1] ?? 0);

async function connected(rig: BrokerRig, late: readonly UnitSerial[], live: readonly UnitSerial[]) {
  const { db, clock } = rig.services;
  const like = {
    modelId: things.model,
    lotId: things.lot,
    place: "on-loan",
    placeSince: clock.now(),
  } as const;
  for (const serial of late)
    db.insert(unit)
      .values({ serial, ...like })
      .run();
  const clients = new Map<UnitSerial, MqttClient>();
  for (const who of [...late, ...live]) {
    clients.set(who, await connectUnit(rig.broker.port, await rig.credentialsFor(who)));
  }
  return clients;
}

/** Some minutes and a gigabyte: `npm run faults` alone. */
it.runIf(isWhole)(
  "thirty days of 500 units at once lose nothing, and live reports get through all along",
  async () => {
    const [late, live, days] = [500, 20, 30];
    const folder = await programmeFolder(late + live);
    onTestFinished(() => folder.remove());
    const server = await startServer(folder.dataFolder, "own-thread");
    const load = startLoad();
    const each = days * messagesOfADay;
    try {
      await load.connect(server.mqttPort, folder.credentialsFile, late + live);
      const told = await load.catchUp({
        do: "catch-up",
        each,
        inFlight: 16,
        shape: { minutesEach, writtenAgoSeconds: days * 86_400 },
        units: late,
        livePerSecond: 50,
      });
      expect(told).toMatchObject({ messages: late * each, dropped: 0 });
      expect(Math.min(...told.live.throughout)).toBeGreaterThan(0);
      const { counters } = await server.figures();
      const stored = late * each + told.live.messages;
      expect(counters).toMatchObject({ stored, duplicates: 0, keptAside: 0, noRoom: 0, failedCommits: 0 });
    } finally {
      await load.stop();
      await server.stop();
    }
    const database = openDatabase(folder.dataFolder);
    const telemetry = createTelemetryStore(database);
    for (let number = 0; number < late; number += 1) {
      const { minutes, holes } = await telemetry.read(benchUnit(number), everything);
      expect([minutes.length, holes]).toEqual([each * minutesEach, []]);
    }
    database.close();
  },
  900_000,
);
