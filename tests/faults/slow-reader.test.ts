import { connect, Server, TLSSocket } from "node:tls";
import { afterEach, expect, it, vi } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { connectPacket, publishPacket, subscribePacket } from "../../scripts/conformance/mqtt/packets.ts";
import { instant } from "../../server/domain/units.ts";
import { type BrokerRig, brokerRig, type UnitCredentials } from "../ingest/broker-rig.ts";
import { minutesUpTo } from "../ingest/cushion-messages.ts";
import { answered, nextDown, rawUnit } from "../ingest/raw-unit.ts";
import { things } from "../support/cast.ts";
import { until } from "./until.ts";

const slow = things.lentUnit;
const neighbour = things.stockUnit;
const everything = { start: instant(0), end: instant(4_102_444_800_000) };
/** Above what the server is seen to hold for one connection by far, and far below what this unit asks it to say. */
const mostWaiting = 256 * 1024;
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
    emitted.mock.calls.flatMap(([event, socket]) =>
      event === "secureConnection" && socket instanceof TLSSocket ? [socket] : [],
    );
}

it("a unit that asks and sends but never reads is no longer read from; little waits for it, its neighbour is served, and what it sent is on record", async () => {
  rig = await brokerRig();
  const ends = serverEnds();
  slowSocket = await withoutReading(rig.broker.port, await rig.credentialsFor(slow));
  await until(() => ends().length === 1);
  const [end] = ends();
  if (end === undefined) throw new Error("no server end");
  let sequence = 0;
  let asked = 0;
  let most = 0;
  const t0 = Date.now();
  let lastRead = 0, still = 0;
  while (still < 40) {
    if (slowSocket.writableLength < 1_000_000) {
      const batch: Buffer[] = [];
      for (let i = 0; i < 2; i++) batch.push(publish(slow, sequence++));
      if (asked === 0) batch.push(subscribePacket(1, [[downlinkFilter(slow), 0]]));
      for (let i = 0; i < 5000; i++, asked++) batch.push(Buffer.of(0xc0, 0));
      slowSocket.write(Buffer.concat(batch));
    }
    await new Promise((r) => setTimeout(r, 10));
    most = Math.max(most, end.writableLength);
    still = end.bytesRead === lastRead ? still + 1 : 0;
    lastRead = end.bytesRead;
  }
  console.log({ ms: Date.now() - t0, sequence, asked, most, read: end.bytesRead, written: end.bytesWritten, client: slowSocket.writableLength, clientRead: slowSocket.bytesRead, c: rig.broker.counters(), destroyed: end.destroyed });
}, 60_000);
