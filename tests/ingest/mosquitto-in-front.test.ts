import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as wait } from "node:timers/promises";
import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Command, DownlinkMessage, Plan, Receipt } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { systemClock } from "../../server/clock.ts";
import { after, instant, milliseconds, millisecondsIn } from "../../server/domain/units.ts";
import { type Authority, consoleName, openAuthority } from "../../server/enrolment/authority.ts";
import type { RunningBroker } from "../../server/ingest/broker.ts";
import { subscribeToFront } from "../../server/ingest/front-subscriber.ts";
import { commandUnit } from "../../server/programme/command-unit.ts";
import { revokeCertificatesOfUnit, revokedCertificates } from "../../server/store/certificates.ts";
import { commandLinesOf } from "../../server/store/unit-commands.ts";
import { LoadedUnit } from "../faults/loaded-unit.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";
import { certify, connectUnit, downlinkOf, type UnitCredentials } from "./broker-rig.ts";
import { hello } from "./cushion-messages.ts";
import { hasMosquitto, Mosquitto } from "./mosquitto.ts";

const why = hasMosquitto ? "" : " (skipped: this machine has no mosquitto)";
const unit = things.lentUnit;
const technician = { kind: "staff", id: cast.technician.id, role: "technician" } as const;
const isCommand = (message: DownlinkMessage): message is Command => message.kind === "command";
const isPlan = (message: DownlinkMessage): message is Plan => message.kind === "plan";
const isReceipt = (message: DownlinkMessage): message is Receipt => message.kind === "receipt";
const patient = { timeout: 20_000, interval: 20 };

describe.skipIf(!hasMosquitto)(`with Mosquitto in front${why}`, () => {
  let services: TestServices;
  let authority: Authority;
  let mosquitto: Mosquitto;
  let credentials: UnitCredentials;
  let ours: RunningBroker | null = null;
  let ourProcess: ChildProcess | null = null;
  const clients: MqttClient[] = [];

  beforeEach(async () => {
    services = testServices();
    services.clock.set(systemClock.now());
    authority = await openAuthority({ dataFolder: services.dataFolder, clock: systemClock, brokerHosts: [] });
    credentials = await certify(authority, services.db, unit);
    mosquitto = await Mosquitto.inFrontOf(authority, await authority.crl([]));
    await mosquitto.start();
  });
  afterEach(async () => {
    for (const client of clients.splice(0)) client.end(true);
    await ours?.stop();
    ours = null;
    await killOurs();
    await mosquitto.remove();
    services.close();
  });

  async function listen(): Promise<RunningBroker> {
    const front = subscribeToFront({
      services,
      host: "127.0.0.1",
      port: mosquitto.port,
      credentials: { ...authority.console, authority: authority.rootPem },
      name: consoleName,
      onCommitted: () => {},
    });
    ours = front;
    await vi.waitUntil(() => front.isReachable(), patient);
    return front;
  }

  async function startOurs(): Promise<void> {
    const script = join(import.meta.dirname, "front-process.ts");
    const argv = ["--import", "tsx", script, services.dataFolder, String(mosquitto.port)];
    ourProcess = spawn(process.execPath, argv, { stdio: ["ignore", "pipe", "inherit"] });
    if (ourProcess.stdout !== null) await once(createInterface({ input: ourProcess.stdout }), "line");
  }

  async function killOurs(): Promise<void> {
    if (ourProcess === null || ourProcess.exitCode !== null) return;
    const gone = once(ourProcess, "exit");
    ourProcess.kill("SIGKILL");
    await gone;
    ourProcess = null;
  }

  async function connected(as = credentials): Promise<MqttClient> {
    const client = await connectUnit(mosquitto.port, as);
    clients.push(client);
    return client;
  }

  const minutesStored = async (): Promise<number> => {
    const always = { start: instant(0), end: instant(4_102_444_800_000) };
    return (await services.telemetry.read(unit, always)).minutes.length;
  };

  it("stores what a unit says, and the unit hears its receipt", async () => {
    await listen();
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    const first = encodeUplink(hello({ unit, uptime: 1 }));
    await client.publishAsync(uplinkTopic(unit, "hello"), Buffer.from(first), { qos: 1 });
    const receipt = await downlink.next(isReceipt);
    expect(receipt.stored).toEqual([{ boot: 1, through: 0, holes: [] }]);
    expect(ours?.counters()).toMatchObject({ received: 1, stored: 1 });
  });

  it("loses nothing when Mosquitto is killed while our side is away, though it had acknowledged all of it", async () => {
    const loaded = new LoadedUnit(credentials);
    await loaded.connect(mosquitto.port);
    loaded.load();
    await vi.waitUntil(() => loaded.acknowledged.size >= 200, patient);
    await mosquitto.kill();
    loaded.hangUp();
    const acknowledged = [...loaded.acknowledged];
    expect(loaded.receipted.size).toBe(0);

    await mosquitto.start();
    await listen();
    // What Mosquitto acknowledged died with it. Only the unit still has it, for want of a receipt.
    expect(await minutesStored()).toBe(0);
    await loaded.connect(mosquitto.port);
    await loaded.resend([...new Set([...acknowledged, ...loaded.unsettled()])]);
    await vi.waitUntil(() => loaded.receipted.size === loaded.written, patient);
    expect(await minutesStored()).toBe(loaded.written);
    loaded.hangUp();
  });

  it("loses nothing that has a receipt when our side is killed under load, again and again", async () => {
    const loaded = new LoadedUnit(credentials);
    const unreceipted = () =>
      Array.from({ length: loaded.written }, (_, sequence) => sequence).filter(
        (sequence) => !loaded.receipted.has(sequence),
      );
    for (let round = 0; round < 3; round++) {
      await startOurs();
      const before = loaded.receipted.size;
      await loaded.connect(mosquitto.port);
      await loaded.resend(unreceipted());
      loaded.load();
      await vi.waitUntil(() => loaded.receipted.size > before + 50, patient);
      await killOurs();
      // Mosquitto goes on acknowledging what nobody hears.
      const heard = loaded.acknowledged.size;
      await vi.waitUntil(() => loaded.acknowledged.size > heard + 20, patient);
      loaded.hangUp();
      const stored = storedSequences();
      expect([...loaded.receipted].filter((sequence) => !stored.has(sequence))).toEqual([]);
    }
    await startOurs();
    await loaded.connect(mosquitto.port);
    // A broker that has more to hand on than it queues drops some, acknowledged as they are. A unit sends again every
    // minute what has no receipt (FP-6.7); here it doesn't wait that long.
    while (loaded.receipted.size < loaded.written) {
      await loaded.resend(unreceipted());
      await wait(250);
    }
    loaded.hangUp();
    await killOurs();
    expect(storedSequences().size).toBe(loaded.written);
  });

  function storedSequences(): Set<number> {
    const rows = services.database.driver
      .prepare<[string], { sequence: number }>("select sequence from message where unit_serial = ?")
      .all(unit);
    return new Set(rows.map(({ sequence }) => sequence));
  }

  it("keeps the plan for a unit that subscribes later, and commands reach it", async () => {
    await listen();
    const asked = commandUnit(services, technician, { unit, kind: "identify" });
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    expect(await downlink.next(isPlan)).toMatchObject({ kind: "plan" });
    // It was away when the command was given; it is told when it is next heard.
    services.clock.set(after(services.clock.now(), milliseconds(10 * millisecondsIn.minute)));
    const first = encodeUplink(hello({ unit, uptime: 1 }));
    await client.publishAsync(uplinkTopic(unit, "hello"), Buffer.from(first), { qos: 1 });
    const command = await downlink.next(isCommand);
    expect(command.action).toBe("identify");
    const done = encodeUplink({
      kind: "result",
      unit,
      boot: 1,
      sequence: 1,
      uptimeSeconds: 2,
      atUptimeSeconds: 2,
      wallSeconds: null,
      command: command.id,
      state: "done",
      reason: null,
    });
    await client.publishAsync(uplinkTopic(unit, "result"), Buffer.from(done), { qos: 1 });
    await downlink.next(
      (message): message is Receipt => isReceipt(message) && message.stored[0]?.through === 1,
    );
    expect(commandLinesOf(services.db, unit, 10)[0]).toMatchObject({ state: "done" });
    expect(asked).toMatchObject({ kind: "issued" });
  });

  it("hears nothing of a unit that names another, nor of one whose certificate was revoked", async () => {
    await listen();
    const client = await connected();
    await client.publishAsync(uplinkTopic(things.stockUnit, "hello"), Buffer.from("x"), { qos: 1 });
    // Mosquitto still has the list of before: our own registry refuses what it lets through.
    services.db.transaction((tx) => revokeCertificatesOfUnit(tx, unit, services.clock.now(), "taken-back"));
    services.live.changed("certificates");
    const late = encodeUplink(hello({ unit, uptime: 1 }));
    await client.publishAsync(uplinkTopic(unit, "hello"), Buffer.from(late), { qos: 1 });
    await vi.waitUntil(() => (ours?.counters().refusedPublishes ?? 0) > 0, patient);
    expect(ours?.counters()).toMatchObject({ received: 0, refusedPublishes: 1 });
    await wait(0);

    const revocations = await authority.crl(revokedCertificates(services.db, instant(0)));
    const informed = await Mosquitto.inFrontOf(authority, revocations);
    await informed.start();
    await expect(connectUnit(informed.port, credentials)).rejects.toThrow();
    await informed.remove();
  });
});
