import { expect } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, downlinkTopic, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  packet,
  packetType,
  publishPacket,
  subscribePacket,
  unsubscribePacket,
} from "../../scripts/conformance/mqtt/packets.ts";
import { hello } from "./cushion-messages.ts";
import { everyStatementOf, statementRig } from "./mqtt-statement.ts";
import { answered, nextDown, silent } from "./raw-unit.ts";

const { unit, connected, statement, ruled } = statementRig();

const filter = downlinkFilter(unit);
const say = (sequence: number) =>
  publishPacket({
    topic: uplinkTopic(unit, "hello"),
    payload: encodeUplink(hello({ unit, sequence, uptime: 1 })),
    qos: 1,
    id: sequence + 1,
  });

async function ends(bytes: Uint8Array): Promise<boolean> {
  const link = await connected();
  link.send(bytes);
  return link.closedWithin(answered);
}

statement("MQTT-2.3.1-7", "MQTT-3.8.4-1", "MQTT-3.10.4-5", async () => {
  const link = await connected();
  link.send(subscribePacket(0xbeef, [[filter, 1]]));
  expect((await link.next("suback", answered))?.id).toBe(0xbeef);
  link.send(unsubscribePacket(0xcafe, ["cushion/never/asked/for"]));
  expect((await link.next("unsuback", answered))?.id).toBe(0xcafe);
});

statement("MQTT-3.8.1-1", async () => {
  expect(await ends(packet(packetType.subscribe, 0, subscribePacket(1, [[filter, 1]]).subarray(2)))).toBe(
    true,
  );
});

statement("MQTT-3.8.3-3", async () => {
  expect(await ends(subscribePacket(1, []))).toBe(true);
});

statement("MQTT-3-8.3-4", async () => {
  for (const qos of [3, 4, 0x80]) expect(await ends(subscribePacket(1, [[filter, qos]]))).toBe(true);
});

statement("MQTT-3.8.4-5", "MQTT-3.9.3-2", async () => {
  const link = await connected();
  const asked = [
    [downlinkTopic(unit, "plan"), 0],
    ["cushion/1/CU-OTHER/down/plan", 1],
    [downlinkTopic(unit, "receipt"), 1],
    ["#", 2],
  ] as const;
  link.send(subscribePacket(3, asked));
  expect((await link.next("suback", answered))?.granted).toEqual([0, 128, 1, 128]);
});

statement("MQTT-3.8.4-6", async () => {
  const link = await connected();
  link.send(subscribePacket(1, [[filter, 0]]), say(0));
  expect((await nextDown(link, "plan"))?.qos).toBe(0);
  expect((await nextDown(link, "receipt"))?.qos).toBe(0);
});

statement("MQTT-3.10.1-1", async () => {
  expect(await ends(packet(packetType.unsubscribe, 0, unsubscribePacket(1, [filter]).subarray(2)))).toBe(
    true,
  );
});

statement("MQTT-3.10.3-2", async () => {
  expect(await ends(unsubscribePacket(1, []))).toBe(true);
});

statement("MQTT-3.10.4-2", async () => {
  const link = await connected();
  link.send(subscribePacket(1, [[filter, 1]]), say(0));
  expect(await nextDown(link, "receipt")).not.toBeNull();
  link.send(unsubscribePacket(2, [filter]));
  expect(await link.next("unsuback", answered)).not.toBeNull();
  link.send(say(1));
  expect(await link.next("puback", answered)).not.toBeNull();
  expect(await nextDown(link, "receipt", silent)).toBeNull();
});

everyStatementOf("subscribe", ruled);
