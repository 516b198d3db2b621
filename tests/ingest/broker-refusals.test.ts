import { connect as connectTls, TLSSocket } from "node:tls";
import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { revokeCertificatesOfUnit } from "../../server/store/certificates.ts";
import { things } from "../support/cast.ts";
import {
  type BrokerRig,
  brokerRig,
  closed,
  connectAs,
  connectUnit,
  foreignAuthority,
  issue,
} from "./broker-rig.ts";
import { hello } from "./cushion-messages.ts";

const unit = things.lentUnit;
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

describe("what a unit may not do", () => {
  it("publish under another unit's topic: the connection is dropped and nothing stored", async () => {
    const client = await connected();
    const ended = closed(client);
    client.publish(uplinkTopic(things.stockUnit, "hello"), helloBytes(0), { qos: 1 });
    await ended;
    expect(rig.broker.counters()).toMatchObject({ refusedPublishes: 1, received: 0, stored: 0 });
  });

  it("subscribe to anything but its own downlink [MQTT-3.9.3-2]", async () => {
    const client = await connected();
    for (const filter of [
      "#",
      "cushion/#",
      "cushion/1/+/down/+",
      downlinkFilter(things.stockUnit),
      "$SYS/#",
    ]) {
      await expect(client.subscribeAsync(filter, { qos: 1 })).rejects.toThrow();
    }
    expect(rig.broker.counters().refusedSubscriptions).toBe(5);
    await expect(client.subscribeAsync(downlinkFilter(unit), { qos: 1 })).resolves.toBeDefined();
  });

  it("send a packet larger than any message: it is cut off before it is gathered", async () => {
    const client = await connected();
    const ended = closed(client);
    client.publish(uplinkTopic(unit, "frame"), Buffer.alloc(300_000), { qos: 1 });
    await ended;
    expect(rig.broker.counters()).toMatchObject({ tooLarge: 1, received: 0 });
  });

  it("call itself another name than its certificate", async () => {
    const credentials = await rig.credentialsFor(unit);
    const other = connectUnit(rig.broker.port, credentials, { clientId: things.stockUnit });
    await expect(other).rejects.toThrow(/not authorized/i);
  });
});

describe("who has no certificate of this programme", () => {
  const refused = async (connection: Promise<unknown>) => {
    await expect(connection).rejects.toThrow();
    expect(rig.broker.connectedUnits()).toEqual([]);
    expect(rig.broker.counters().refusedConnections).toBeGreaterThan(0);
  };

  it("is refused with none at all, with TLS and without", async () => {
    const { port } = rig.broker;
    const anybody = {
      host: "127.0.0.1",
      port,
      clientId: unit,
      protocolVersion: 4,
    } as const;
    await refused(connectAs({ ...anybody, protocol: "mqtts", ca: rig.authority.rootPem }));
    await refused(connectAs({ ...anybody, protocol: "mqtt" }));
  });

  it("is refused with one that another authority has signed", async () => {
    const foreign = await foreignAuthority();
    const { credentials } = await issue(foreign.authority, unit);
    await refused(connectUnit(rig.broker.port, { ...credentials, ca: rig.authority.rootPem }));
    foreign.remove();
  });

  it("is refused with one that was signed here but never stored", async () => {
    const { credentials } = await issue(rig.authority, unit);
    await refused(connectUnit(rig.broker.port, credentials));
  });
});

describe("a revoked certificate", () => {
  it("ends the open session at once and is refused when it comes back", async () => {
    const credentials = await rig.credentialsFor(unit);
    const client = kept(await connectUnit(rig.broker.port, credentials));
    const ended = closed(client);
    revokeCertificatesOfUnit(rig.services.db, unit, rig.services.clock.now(), "taken-back");
    rig.services.live.changed("certificates");
    await ended;
    expect(rig.broker.connectedUnits()).toEqual([]);
    await expect(connectUnit(rig.broker.port, credentials)).rejects.toThrow(/not authorized/i);
  });

  it("is refused with a TLS session from before as well: none is resumed, each connection shows its certificate anew", async () => {
    const credentials = await rig.credentialsFor(unit);
    const { key, cert, ca } = credentials;
    const first = connectTls({ host: "127.0.0.1", port: rig.broker.port, key, cert, ca });
    const session = await new Promise<Buffer>((resolve) => first.once("session", resolve));
    first.destroy();
    const resuming = { clientId: unit, session };
    const again = kept(await connectUnit(rig.broker.port, credentials, resuming));
    expect(again.stream instanceof TLSSocket && again.stream.isSessionReused()).toBe(false);
    revokeCertificatesOfUnit(rig.services.db, unit, rig.services.clock.now(), "taken-back");
    await expect(connectUnit(rig.broker.port, credentials, resuming)).rejects.toThrow(/not authorized/i);
  });

  it("is refused as well once it has run out by our own clock", async () => {
    const credentials = await rig.credentialsFor(unit);
    rig.services.clock.move(500 * 24 * 3_600_000);
    await expect(connectUnit(rig.broker.port, credentials)).rejects.toThrow(/not authorized/i);
  });
});
