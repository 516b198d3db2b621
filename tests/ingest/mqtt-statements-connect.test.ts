import { expect } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  connectPacket,
  packet,
  packetType,
  pingreqPacket,
  publishPacket,
} from "../../scripts/conformance/mqtt/packets.ts";
import { hello } from "./cushion-messages.ts";
import { everyStatementOf, statementRig } from "./mqtt-statement.ts";
import { answered } from "./raw-unit.ts";

const { rig: rigOf, unit, connected, unconnected, statement, ruled } = statementRig();
const rig = {
  get broker() {
    return rigOf().broker;
  },
};

const topic = uplinkTopic(unit, "hello");
const message = encodeUplink(hello({ unit, uptime: 1 }));
const publish = publishPacket({ topic, payload: message, qos: 1, id: 5 });
const withTopic = (bytes: Buffer) =>
  packet(packetType.publish, 2, Buffer.of(0, bytes.length), bytes, Buffer.of(0, 5), message);

/** @returns whether these bytes end a connection that was let in */
async function ends(bytes: Uint8Array): Promise<boolean> {
  const link = await connected();
  link.send(bytes);
  return link.closedWithin(answered);
}
const stored = () => rig.broker.counters().stored;

statement("MQTT-1.5.3-1", async () => {
  expect(await ends(withTopic(Buffer.concat([Buffer.from(topic), Buffer.of(0xc3, 0x28)])))).toBe(true);
  expect(stored()).toBe(0);
});

statement("MQTT-1.5.3-2", async () => {
  expect(await ends(withTopic(Buffer.from(`${topic}\u0000`)))).toBe(true);
  expect(stored()).toBe(0);
});

statement("MQTT-2.2.2-2", async () => {
  expect(await ends(packet(packetType.pingreq, 1))).toBe(true);
});

statement("MQTT-3.1.0-1", async () => {
  const link = await unconnected();
  link.send(publish);
  expect(await link.closedWithin(answered)).toBe(true);
  expect(stored()).toBe(0);
});

statement("MQTT-3.1.0-2", async () => {
  expect(await ends(connectPacket({ clientId: unit }))).toBe(true);
});

statement("MQTT-3.1.2-1", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: unit, protocolName: "MQXX" }), publish);
  expect(await link.closedWithin(answered)).toBe(true);
  expect(stored()).toBe(0);
});

statement("MQTT-3.1.2-2", async () => {
  for (const protocolLevel of [0, 9, 132]) {
    const link = await unconnected();
    link.send(connectPacket({ clientId: unit, protocolLevel }), publish);
    expect(await link.next("connack", answered)).toEqual({ type: "connack", sessionPresent: false, code: 1 });
    expect(await link.closedWithin(answered)).toBe(true);
  }
  expect(rig.broker.counters()).toMatchObject({ received: 0, stored: 0 });
});

statement("MQTT-3.1.2-3", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: unit, extraFlags: 1 }));
  expect(await link.closedWithin(answered)).toBe(true);
});

statement("MQTT-3.1.4-5", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: "CU-OTHER" }), publish);
  expect(await link.closedWithin(answered)).toBe(true);
  expect(rig.broker.counters()).toMatchObject({ received: 0, stored: 0 });
});

statement("MQTT-3.2.0-1", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: unit }), pingreqPacket, publish);
  expect((await link.next("connack", answered))?.code).toBe(0);
  expect(await link.next("pingresp", answered)).not.toBeNull();
});

statement("MQTT-3.2.2-4", "MQTT-3.2.2-5", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: "CU-OTHER", cleanSession: false }));
  expect(await link.next("connack", answered)).toEqual({ type: "connack", sessionPresent: false, code: 5 });
  expect(await link.closedWithin(answered)).toBe(true);
});

everyStatementOf("connect", ruled);
