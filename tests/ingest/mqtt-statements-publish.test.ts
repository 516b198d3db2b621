import { expect } from "vitest";
import { decodeDownlink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  packet,
  packetType,
  publishPacket,
  pubrelPacket,
  subscribePacket,
} from "../../scripts/conformance/mqtt/packets.ts";
import { things } from "../support/cast.ts";
import { hello } from "./cushion-messages.ts";
import { everyStatementOf, statementRig } from "./mqtt-statement.ts";
import { answered, nextDown, silent } from "./raw-unit.ts";

const { rig: rigOf, unit, connected, statement, exception, ruled } = statementRig();
const rig = {
  get broker() {
    return rigOf().broker;
  },
};

const topic = uplinkTopic(unit, "hello");
const say = (sequence: number, qos: 0 | 1 | 2, id = sequence + 1, dup = false) =>
  publishPacket({ topic, payload: encodeUplink(hello({ unit, sequence, uptime: 1 })), qos, id, dup });
const stored = () => rig.broker.counters().stored;

statement("MQTT-2.3.1-6", "MQTT-3.3.4-1", "MQTT-4.3.3-2", "MQTT-2.3.1-5", async () => {
  const link = await connected();
  link.send(say(0, 0), say(1, 1, 0x1234), say(2, 2, 0x2345));
  expect((await link.next("puback", answered))?.id).toBe(0x1234);
  expect((await link.next("pubrec", answered))?.id).toBe(0x2345);
  for (let time = 0; time < 2; time++) {
    link.send(pubrelPacket(0x2345));
    expect((await link.next("pubcomp", answered))?.id).toBe(0x2345);
  }
  expect(await link.next("puback", silent)).toBeNull();
  // Whatever its QoS, what came is stored.
  await expect.poll(stored).toBe(3);
});

statement("MQTT-4.3.2-2", async () => {
  const link = await connected();
  for (const sequence of [0, 1]) {
    link.send(say(sequence, 1, 7, sequence === 1));
    expect((await link.next("puback", answered))?.id).toBe(7);
  }
  expect(stored()).toBe(2);
});

statement("MQTT-3.3.1-2", "MQTT-3.3.1-3", async () => {
  for (const qos of [0, 1]) {
    const link = await connected();
    link.send(subscribePacket(1, [[downlinkFilter(unit), qos]]));
    expect(await nextDown(link, "plan")).toMatchObject({ dup: false, qos });
    link.send(say(qos, 1, 9, true));
    expect(await nextDown(link, "receipt")).toMatchObject({ dup: false, qos });
    link.cut();
  }
});

statement("MQTT-3.3.1-4", async () => {
  const link = await connected();
  link.send(packet(packetType.publish, 6, Buffer.of(0, 1, 0x61, 0, 5)));
  expect(await link.closedWithin(answered)).toBe(true);
});

statement("MQTT-3.3.2-2", async () => {
  for (const wildcard of [`${topic}/#`, "cushion/1/+/up/hello"]) {
    const link = await connected();
    link.send(publishPacket({ topic: wildcard, payload: Buffer.of(1), qos: 1, id: 5 }));
    expect(await link.closedWithin(answered)).toBe(true);
  }
  expect(rig.broker.counters().received).toBe(0);
});

statement("MQTT-3.3.5-2", async () => {
  const link = await connected();
  link.send(
    publishPacket({ topic: uplinkTopic(things.stockUnit, "hello"), payload: Buffer.of(1), qos: 1, id: 5 }),
  );
  expect(await link.closedWithin(answered)).toBe(true);
  expect(await link.next("puback", silent)).toBeNull();
});

statement("MQTT-4.6.0-6", async () => {
  const link = await connected();
  link.send(subscribePacket(1, [[downlinkFilter(unit), 1]]));
  link.send(...Array.from({ length: 40 }, (_, sequence) => say(sequence, 1)));
  let through = -1;
  while (through < 39) {
    const packet = await nextDown(link, "receipt");
    if (packet === null) break;
    const receipt = decodeDownlink(packet.payload);
    const said = receipt.kind === "receipt" ? (receipt.stored[0]?.through ?? -1) : -1;
    expect(said).toBeGreaterThanOrEqual(through);
    through = said;
  }
  expect(through).toBe(39);
});

exception(
  "MQTT-3.3.1-5",
  "nothing is kept for later subscribers [FP-2.12]: a retained message is taken as one without",
  async () => {
    const link = await connected();
    const payload = encodeUplink(hello({ unit, uptime: 1 }));
    link.send(publishPacket({ topic, payload, qos: 1, id: 5, retain: true }));
    expect((await link.next("puback", answered))?.id).toBe(5);
    link.send(subscribePacket(2, [[downlinkFilter(unit), 1]]));
    expect((await nextDown(link, "plan"))?.retain).toBe(false);
    expect(await link.next("publish", silent, ({ topic: on }) => on === topic)).toBeNull();
    expect(stored()).toBe(1);
  },
);

everyStatementOf("publish", ruled);
