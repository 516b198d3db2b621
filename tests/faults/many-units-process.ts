/** Many units in a process of their own: `many-units-process.ts <port> <credentials file>`. All connect and stay; told
 *  by the parent, each publishes one message at the same moment, and waits for its acknowledgement and its receipt. */
import { readFileSync } from "node:fs";
import { decodeDownlink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { Link } from "../../scripts/conformance/mqtt/link.ts";
import { publishPacket, subscribePacket } from "../../scripts/conformance/mqtt/packets.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { minutesUpTo } from "../ingest/cushion-messages.ts";
import { rawUnit } from "../ingest/raw-unit.ts";

export interface ManyAnswered {
  readonly acknowledged: number;
  readonly receipted: number;
  readonly dropped: number;
}

/** Handshakes under way at any moment: a unit that is refused for want of time comes again, here each has one chance. */
const connectingAtOnce = 40;
const longEnough = 120_000;
const sequence = 0;

const [port = "", credentialsFile = ""] = process.argv.slice(2);
const { key, ca, certificates }: Credentials = JSON.parse(readFileSync(credentialsFile, "utf8"));
interface Credentials {
  readonly key: string;
  readonly ca: string;
  readonly certificates: { readonly unit: string; readonly certificate: string }[];
}
const links: { readonly unit: UnitSerial; readonly link: Link }[] = [];

async function connectNext(): Promise<void> {
  for (let next = certificates.pop(); next !== undefined; next = certificates.pop()) {
    const unit = unitSerial(next.unit);
    const credentials = { unit, key, ca, cert: next.certificate };
    const link = await rawUnit(Number(port), credentials, { keepAliveSeconds: 600 });
    link.send(subscribePacket(1, [[downlinkFilter(unit), 0]]));
    await link.next("suback", longEnough);
    links.push({ unit, link });
  }
}

async function tellOne(unit: UnitSerial, link: Link): Promise<{ acknowledged: boolean; receipted: boolean }> {
  const topic = uplinkTopic(unit, "minutes");
  const payload = encodeUplink(minutesUpTo({ unit, sequence, uptime: 60 }, 1));
  link.send(publishPacket({ topic, payload, qos: 1, id: 7 }));
  const [puback, receipt] = await Promise.all([
    link.next("puback", longEnough),
    link.next("publish", longEnough, (heard) => heard.topic.endsWith("/down/receipt")),
  ]);
  const told = receipt === null ? null : decodeDownlink(receipt.payload);
  const receipted =
    told?.kind === "receipt" && told.stored.some(({ boot, through }) => boot === 1 && through === sequence);
  return { acknowledged: puback?.id === 7, receipted };
}

async function tellAll(): Promise<ManyAnswered> {
  const told = await Promise.all(links.map(({ unit, link }) => tellOne(unit, link)));
  return {
    acknowledged: told.filter(({ acknowledged }) => acknowledged).length,
    receipted: told.filter(({ receipted }) => receipted).length,
    dropped: links.filter(({ link }) => link.isClosed).length,
  };
}

// Without its parent it has nothing to do.
process.on("disconnect", () => process.exit(0));
await Promise.all(Array.from({ length: connectingAtOnce }, connectNext));
process.on("message", () => void tellAll().then((answered) => process.send?.(answered)));
process.send?.(links.length);
