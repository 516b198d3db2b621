import { setTimeout as wait } from "node:timers/promises";
import { connect, Server, TLSSocket } from "node:tls";
import { afterEach, expect, it, vi } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  connectPacket,
  pingreqPacket,
  publishPacket,
  subscribePacket,
} from "../../scripts/conformance/mqtt/packets.ts";
import { instant } from "../../server/domain/units.ts";
import { type BrokerRig, brokerRig, type UnitCredentials } from "../ingest/broker-rig.ts";
import { minutesUpTo } from "../ingest/cushion-messages.ts";
import { answered, nextDown, rawUnit } from "../ingest/raw-unit.ts";
import { things } from "../support/cast.ts";
import { until } from "./until.ts";

const slow = things.lentUnit;
const neighbour = things.stockUnit;
const everything = { start: instant(0), end: instant(4_102_444_800_000) };
/** Above what the server is seen to hold for one connection (some 50 kB), and far below what this unit asks it to say (megabytes). */
const mostWaiting = 256 * 1024;
const quietLooks = 40;
let rig: BrokerRig;
let slowSocket: TLSSocket | null = null;

afterEach(async () => {
  slowSocket?.destroy();
  vi.restoreAllMocks();
  await rig.stop();
});

const publish = (unit: string, sequence: number): Buffer =>
  publishPacket({
    topic: uplinkTopic(unit, "minutes"),
    payload: encodeUplink(minutesUpTo({ unit, sequence, uptime: 60 * (sequence + 1) }, 1)),
    qos: 1,
    id: sequence + 1,
  });

/** Connects with TLS and never reads a byte of what comes after it. */
async function withoutReading(port: number, { unit, key, cert, ca }: UnitCredentials): Promise<TLSSocket> {
  const socket = connect({ host: "127.0.0.1", port, key, cert, ca });
  socket.on("error", () => {});
  await new Promise<void>((resolve) => socket.once("secureConnect", resolve));
  socket.pause();
  socket.write(connectPacket({ clientId: unit, keepAliveSeconds: 600 }));
  return socket;
}

/** The server's end of each connection, in the order in which they came. */
function serverEnds(): () => TLSSocket[] {
  const emitted = vi.spyOn(Server.prototype, "emit");
  return () =>
    emitted.mock.calls.flatMap((call: readonly unknown[]) => {
      const [event, socket] = call;
      return event === "secureConnection" && socket instanceof TLSSocket ? [socket] : [];
    });
}

it("a unit that sends and never reads is read from no more, while little waits for it and its neighbour is served", {
  timeout: 120_000,
}, async () => {
  rig = await brokerRig();
  const ends = serverEnds();
  slowSocket = await withoutReading(rig.broker.port, await rig.credentialsFor(slow));
  await until(() => ends().length === 1);
  const [end] = ends();
  if (end === undefined) throw new Error("the server has no end of it");
  slowSocket.write(subscribePacket(1, [[downlinkFilter(slow), 0]]));
  const { most } = await fillTheWayBack(slowSocket, end);
  expect(most).toBeLessThan(mostWaiting);

  const readSoFar = end.bytesRead;
  const link = await rawUnit(rig.broker.port, await rig.credentialsFor(neighbour));
  link.send(subscribePacket(1, [[downlinkFilter(neighbour), 0]]), publish(neighbour, 0));
  expect(await link.next("puback", answered)).toMatchObject({ id: 1 });
  expect(await nextDown(link, "receipt")).not.toBeNull();
  link.cut();
  expect(end.bytesRead).toBe(readSoFar);
  expect(end.writableLength).toBeLessThan(mostWaiting);

  slowSocket.destroy();
  await until(() => !rig.broker.connectedUnits().includes(slow));
  const { stored, keptAside, received } = rig.broker.counters();
  expect([stored, keptAside]).toEqual([received, 0]);
  const { minutes, holes } = await rig.services.telemetry.read(slow, everything);
  // All but the neighbour's one.
  expect([minutes.length, holes]).toEqual([stored - 1, []]);
  expect(minutes.length).toBeGreaterThan(0);
});

/** Sends messages and pings until the server has read nothing of them for long: its answers fill the network's
 *  buffers, which are megabytes, and then it waits. @returns the most that it held meanwhile, in bytes */
async function fillTheWayBack(from: TLSSocket, end: TLSSocket): Promise<{ most: number }> {
  const pings = Buffer.alloc(pingreqPacket.length * 20_000, pingreqPacket);
  let most = 0;
  let readBefore = 0;
  for (
    let sequence = 0, quiet = 0;
    quiet < quietLooks;
    quiet = end.bytesRead === readBefore ? quiet + 1 : 0
  ) {
    readBefore = end.bytesRead;
    if (from.writableLength < 1_000_000) from.write(Buffer.concat([publish(slow, sequence++), pings]));
    await wait(10);
    most = Math.max(most, end.writableLength);
  }
  return { most };
}
