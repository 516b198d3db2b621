import { expect } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  connectPacket,
  disconnectPacket,
  pingreqPacket,
  subscribePacket,
} from "../../scripts/conformance/mqtt/packets.ts";
import { hello } from "./cushion-messages.ts";
import { everyStatementOf, statementRig } from "./mqtt-statement.ts";
import { answered, nextDown, silent } from "./raw-unit.ts";

const { rig: rigOf, unit, connected, unconnected, statement, ruled } = statementRig();
const rig = {
  get broker() {
    return rigOf().broker;
  },
};

const will = { topic: uplinkTopic(unit, "hello"), payload: encodeUplink(hello({ unit, uptime: 1 })) };

statement("MQTT-3.1.2-6", async () => {
  const first = await connected();
  first.send(subscribePacket(1, [[downlinkFilter(unit), 1]]));
  expect(await nextDown(first, "plan")).not.toBeNull();
  first.send(disconnectPacket);
  await first.closedWithin(answered);
  const second = await connected({ cleanSession: true });
  expect(await nextDown(second, "plan", silent)).toBeNull();
});

statement("MQTT-3.2.2-1", async () => {
  const link = await unconnected();
  link.send(connectPacket({ clientId: unit, cleanSession: true }));
  expect(await link.next("connack", answered)).toEqual({ type: "connack", sessionPresent: false, code: 0 });
});

statement("MQTT-3.2.2-3", async () => {
  for (let time = 0; time < 2; time++) {
    const link = await unconnected();
    link.send(connectPacket({ clientId: unit, cleanSession: false }));
    // Nothing is kept for a unit that is away, and it is told so: receipts and the plan come when it subscribes.
    expect(await link.next("connack", answered)).toEqual({ type: "connack", sessionPresent: false, code: 0 });
    link.send(disconnectPacket);
    await link.closedWithin(answered);
  }
});

statement("MQTT-3.1.2-24", async () => {
  const link = await connected({ keepAliveSeconds: 1 });
  expect(await link.closedWithin(answered)).toBe(true);
  const alive = await connected({ keepAliveSeconds: 1 });
  for (let time = 0; time < 4; time++) {
    alive.send(pingreqPacket);
    expect(await alive.next("pingresp", answered)).not.toBeNull();
    expect(await alive.closedWithin(600)).toBe(false);
  }
});

statement("MQTT-3.1.4-2", async () => {
  const first = await connected();
  const second = await connected();
  expect(await first.closedWithin(answered)).toBe(true);
  second.send(pingreqPacket);
  expect(await second.next("pingresp", answered)).not.toBeNull();
});

statement("MQTT-3.12.4-1", async () => {
  const link = await connected();
  link.send(pingreqPacket);
  expect(await link.next("pingresp", answered)).not.toBeNull();
});

statement("MQTT-3.14.4-3", async () => {
  const link = await connected({ will });
  link.send(disconnectPacket);
  expect(await link.closedWithin(answered)).toBe(true);
  await new Promise((resolve) => setTimeout(resolve, silent));
  expect(rig.broker.counters().stored).toBe(0);
});

statement("MQTT-3.1.2-8", async () => {
  // A unit must not set one (FP-2.6). One that does has it taken in as any message of its own.
  const link = await connected({ will });
  link.cut();
  await expect.poll(() => rig.broker.counters().stored).toBe(1);
});

everyStatementOf("session", ruled);
