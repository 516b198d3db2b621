import { packetType } from "./packets.ts";

export interface PublishHeard {
  readonly type: "publish";
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly qos: number;
  readonly dup: boolean;
  readonly retain: boolean;
  /** null: QoS 0 has none. */
  readonly id: number | null;
}
export interface ConnectHeard {
  readonly type: "connect";
  readonly protocol: string;
  readonly level: number;
  readonly clientId: string;
  readonly cleanSession: boolean;
  readonly hasWill: boolean;
  readonly hasUserName: boolean;
  readonly hasPassword: boolean;
  readonly keepAliveSeconds: number;
}
export interface ConnackHeard {
  readonly type: "connack";
  readonly sessionPresent: boolean;
  readonly code: number;
}
export interface SubscribeHeard {
  readonly type: "subscribe";
  readonly id: number;
  readonly filters: readonly { readonly filter: string; readonly qos: number }[];
}
export interface SubackHeard {
  readonly type: "suback";
  readonly id: number;
  readonly granted: readonly number[];
}
/** What carries a packet identifier and nothing that is looked at. */
export interface AckHeard {
  readonly type: "puback" | "pubrec" | "pubrel" | "pubcomp" | "unsuback" | "unsubscribe";
  readonly id: number;
}
export interface BareHeard {
  readonly type: "pingreq" | "pingresp" | "disconnect" | "unknown";
}
export type PacketHeard =
  | PublishHeard
  | ConnectHeard
  | ConnackHeard
  | SubscribeHeard
  | SubackHeard
  | AckHeard
  | BareHeard;

const connectFlags = { userName: 0x80, password: 0x40, will: 0x04, clean: 0x02 } as const;
const typeNames = new Map<number, string>(Object.entries(packetType).map(([name, code]) => [code, name]));

/** Cuts a byte stream into packets (section 2.2), however it comes in. */
export class PacketReader {
  readonly #heard: (packet: PacketHeard) => void;
  #rest: Buffer = Buffer.alloc(0);

  constructor(heard: (packet: PacketHeard) => void) {
    this.#heard = heard;
  }

  read(chunk: Buffer): void {
    this.#rest = Buffer.concat([this.#rest, chunk]);
    for (let size = wholePacket(this.#rest); size !== null; size = wholePacket(this.#rest)) {
      const [head, end] = size;
      const first = this.#rest[0] ?? 0;
      const body = Buffer.from(this.#rest.subarray(head, end));
      this.#rest = this.#rest.subarray(end);
      this.#heard(readPacket(first, body));
    }
  }
}

/** @returns where the body begins and where the packet ends; null while it isn't all there */
function wholePacket(bytes: Buffer): readonly [number, number] | null {
  let length = 0;
  for (let at = 1; at < Math.min(bytes.length, 5); at++) {
    const byte = bytes[at] ?? 0;
    length += (byte & 0x7f) * 128 ** (at - 1);
    if (byte < 0x80) return at + 1 + length <= bytes.length ? [at + 1, at + 1 + length] : null;
  }
  return null;
}

function readPacket(first: number, body: Buffer): PacketHeard {
  const type = typeNames.get(first >> 4);
  switch (type) {
    case "publish":
      return readPublish(first, body);
    case "connect":
      return readConnect(body);
    case "connack":
      return { type, sessionPresent: body[0] === 1, code: body[1] ?? 0 };
    case "subscribe":
      return { type, id: body.readUInt16BE(0), filters: readFilters(body) };
    case "suback":
      return { type, id: body.readUInt16BE(0), granted: [...body.subarray(2)] };
    case "puback":
    case "pubrec":
    case "pubrel":
    case "pubcomp":
    case "unsuback":
    case "unsubscribe":
      return { type, id: body.readUInt16BE(0) };
    case "pingreq":
    case "pingresp":
    case "disconnect":
      return { type };
  }
  return { type: "unknown" };
}

function readPublish(first: number, body: Buffer): PublishHeard {
  const topicEnds = 2 + body.readUInt16BE(0);
  const qos = (first >> 1) & 3;
  const id = qos === 0 ? null : body.readUInt16BE(topicEnds);
  return {
    type: "publish",
    topic: body.toString("utf8", 2, topicEnds),
    payload: body.subarray(qos === 0 ? topicEnds : topicEnds + 2),
    qos,
    dup: (first & 8) !== 0,
    retain: (first & 1) !== 0,
    id,
  };
}

function readConnect(body: Buffer): ConnectHeard {
  const nameEnds = 2 + body.readUInt16BE(0);
  const flags = body[nameEnds + 1] ?? 0;
  const idAt = nameEnds + 4;
  const idEnds = idAt + 2 + body.readUInt16BE(idAt);
  return {
    type: "connect",
    protocol: body.toString("utf8", 2, nameEnds),
    level: body[nameEnds] ?? 0,
    clientId: body.toString("utf8", idAt + 2, idEnds),
    cleanSession: (flags & connectFlags.clean) !== 0,
    hasWill: (flags & connectFlags.will) !== 0,
    hasUserName: (flags & connectFlags.userName) !== 0,
    hasPassword: (flags & connectFlags.password) !== 0,
    keepAliveSeconds: body.readUInt16BE(nameEnds + 2),
  };
}

function readFilters(body: Buffer): { filter: string; qos: number }[] {
  const filters: { filter: string; qos: number }[] = [];
  for (let at = 2; at + 3 <= body.length; ) {
    const end = at + 2 + body.readUInt16BE(at);
    filters.push({ filter: body.toString("utf8", at + 2, end), qos: body[end] ?? 0 });
    at = end + 1;
  }
  return filters;
}
