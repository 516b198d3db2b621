import { connect as connectTls } from "node:tls";
import { eq } from "drizzle-orm";
import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { DownlinkMessage, Plan, Receipt } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, downlinkTopic, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { planId } from "../../server/domain/ids.ts";
import { instant, minutes } from "../../server/domain/units.ts";
import { reliefPlan } from "../../server/store/schema/loans.ts";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, closed, connectUnit, downlinkOf } from "./broker-rig.ts";
import { hello, minutesUpTo } from "./cushion-messages.ts";

const unit = things.lentUnit;
const isReceipt = (message: DownlinkMessage): message is Receipt => message.kind === "receipt";
const isPlan = (message: DownlinkMessage): message is Plan => message.kind === "plan";
const always = { start: instant(0), end: instant(4_102_444_800_000) };
const helloBytes = (sequence: number) =>
  Buffer.from(encodeUplink(hello({ unit, sequence, uptime: sequence })));

let rig: BrokerRig;
const open: MqttClient[] = [];

const kept = (client: MqttClient): MqttClient => {
  open.push(client);
  return client;
};
const connected = async (): Promise<MqttClient> =>
  kept(await connectUnit(rig.broker.port, await rig.credentialsFor(unit)));

beforeEach(async () => {
  rig = await brokerRig();
});

afterEach(async () => {
  for (const client of open.splice(0)) client.end(true);
  await rig.stop();
});

describe("a unit with its certificate", () => {
  it("gets its acknowledgement after the commit, and then a receipt that lets it forget", async () => {
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    await client.publishAsync(uplinkTopic(unit, "hello"), helloBytes(0), { qos: 1 });
    expect((await rig.services.telemetry.read(unit, always)).boots).toHaveLength(1);
    expect(rig.committed).toEqual([unit]);
    const receipt = await downlink.next(isReceipt);
    expect(receipt.stored).toEqual([{ boot: 1, through: 0, holes: [] }]);
    expect(receipt.serverUnixSeconds).toBe(Math.floor(rig.services.clock.now() / 1_000));
  });

  it("is told the plan of the person it is lent to as soon as it subscribes", async () => {
    const downlink = await downlinkOf(await connected(), unit);
    expect(await downlink.next(isPlan)).toEqual({
      kind: "plan",
      version: 1,
      intervalMinutes: 30,
      holdSeconds: 120,
      kinds: ["lift", "lean-left", "lean-right", "lean-forward"],
    });
  });

  it("is told that no plan is in force while it is on no loan [FP-7.8]", async () => {
    const { stockUnit } = things;
    const client = kept(await connectUnit(rig.broker.port, await rig.credentialsFor(stockUnit)));
    const told = new Promise((resolve) =>
      client.once("message", (topic, payload) => resolve([topic, payload.length])),
    );
    await client.subscribeAsync(downlinkFilter(stockUnit), { qos: 1 });
    expect(await told).toEqual([downlinkTopic(stockUnit, "plan"), 0]);
  });

  it("is told a new plan as soon as its clinician has set one", async () => {
    const downlink = await downlinkOf(await connected(), unit);
    await downlink.next(isPlan);
    const { db, clock, live } = rig.services;
    const [inForce] = db.select().from(reliefPlan).where(eq(reliefPlan.borrowerId, things.borrower)).all();
    if (inForce === undefined) throw new Error("the cast has a plan");
    db.insert(reliefPlan)
      .values({
        ...inForce,
        id: planId("plan_next"),
        version: 2,
        validFrom: clock.now(),
        interval: minutes(20),
      })
      .run();
    live.changed(`person:${things.borrower}`);
    const isNext = (message: DownlinkMessage): message is Plan => isPlan(message) && message.version === 2;
    expect((await downlink.next(isNext)).intervalMinutes).toBe(20);
  });

  it("has its resends counted once", async () => {
    const client = await connected();
    for (let time = 0; time < 3; time++) {
      await client.publishAsync(uplinkTopic(unit, "hello"), helloBytes(0), { qos: 1 });
    }
    expect(rig.broker.counters()).toMatchObject({ received: 3, stored: 1, duplicates: 2 });
  });

  it("is acknowledged for a message that can't be read, which is kept aside and harms no neighbour", async () => {
    const client = await connected();
    await Promise.all([
      client.publishAsync(uplinkTopic(unit, "hello"), helloBytes(0), { qos: 1 }),
      client.publishAsync(uplinkTopic(unit, "minutes"), Buffer.from("no CBOR at all"), { qos: 1 }),
      client.publishAsync(uplinkTopic(unit, "hello"), helloBytes(1), { qos: 1 }),
    ]);
    expect(rig.broker.counters()).toMatchObject({ stored: 2, keptAside: 1 });
    expect(await rig.services.telemetry.keptAside()).toMatchObject([{ unit, messages: 1 }]);
  });

  it("takes over from its own earlier connection [MQTT-3.1.4-2]", async () => {
    const credentials = await rig.credentialsFor(unit);
    const first = kept(await connectUnit(rig.broker.port, credentials));
    const firstClosed = closed(first);
    const second = kept(await connectUnit(rig.broker.port, credentials));
    await firstClosed;
    expect(second.connected).toBe(true);
    expect(rig.broker.connectedUnits()).toEqual([unit]);
  });

  it("moves open pages at most once for a burst of messages", async () => {
    const moved: string[] = [];
    const told = new Promise<void>((resolve) => {
      rig.services.live.follow([`unit:${unit}`], (topic) => {
        moved.push(topic);
        resolve();
      });
    });
    const client = await connected();
    for (let sequence = 0; sequence < 20; sequence++) {
      await client.publishAsync(uplinkTopic(unit, "hello"), helloBytes(sequence), { qos: 1 });
    }
    await told;
    expect(moved).toEqual([`unit:${unit}`]);
  });
});

describe("a flood from one unit", () => {
  it("is slowed until it has been taken in, while its neighbour is answered at once", async () => {
    const { stockUnit } = things;
    const flood = await connected();
    const neighbour = kept(await connectUnit(rig.broker.port, await rig.credentialsFor(stockUnit)));
    let acknowledged = 0;
    const sent = Array.from({ length: 4_600 }, (_, sequence) =>
      flood.publishAsync(uplinkTopic(unit, "hello"), helloBytes(sequence), { qos: 1 }).then(() => {
        acknowledged += 1;
      }),
    );
    await sent[0];
    const message = Buffer.from(encodeUplink(hello({ unit: stockUnit, uptime: 1 })));
    await neighbour.publishAsync(uplinkTopic(stockUnit, "hello"), message, { qos: 1 });
    expect(acknowledged).toBeLessThan(sent.length);
    await Promise.all(sent);
    const metrics = rig.broker.metrics();
    expect(metrics).toMatch(/ingest_holds_total\{why="sends_too_much"\} [1-9]/);
    expect(metrics).toContain('ingest_messages_total{outcome="stored"} 4601');
    expect(metrics).toContain('ingest_refused_total{what="no_room"} 0');
    expect(metrics).toContain("ingest_waiting_bytes 0");
  });
});

describe("stopping", () => {
  it("commits and acknowledges what has come in, then closes every socket", async () => {
    const client = await connected();
    const sent = Array.from({ length: 50 }, (_, sequence) =>
      client
        .publishAsync(
          uplinkTopic(unit, "minutes"),
          Buffer.from(encodeUplink(minutesUpTo({ unit, sequence, uptime: 60 * (sequence + 1) }, 1))),
          { qos: 1 },
        )
        .then(
          () => true,
          () => false,
        ),
    );
    await sent[0];
    const ended = closed(client);
    await rig.broker.stop();
    await ended;
    client.end(true);
    const acknowledged = (await Promise.all(sent)).filter(Boolean).length;
    expect((await rig.services.telemetry.read(unit, always)).minutes.length).toBeGreaterThanOrEqual(
      acknowledged,
    );
    const again = connectTls({ host: "127.0.0.1", port: rig.broker.port });
    await expect(
      new Promise((resolve, reject) => again.once("error", reject).once("connect", resolve)),
    ).rejects.toThrow(/ECONNREFUSED/);
  });
});
