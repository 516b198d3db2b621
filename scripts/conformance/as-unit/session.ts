import type { Receipt } from "../../../firmware-protocol/src/downlink.ts";
import { downlinkFilter } from "../../../firmware-protocol/src/topics.ts";
import type { Link } from "../mqtt/link.ts";
import { connectPacket, pubackPacket, publishPacket, subscribePacket } from "../mqtt/packets.ts";
import { dial, patience } from "./dial.ts";
import type { Downlink, FromServer } from "./downlink.ts";
import type { Identity } from "./identity.ts";
import type { ReceiptBook } from "./receipt-book.ts";

export interface SessionParts {
  readonly downlink: Downlink;
  readonly book: ReceiptBook;
}

const isReceipt = (message: FromServer): message is Receipt => message.kind === "receipt";

/** One connection of the unit that the runner plays. */
export class Session {
  readonly link: Link;
  readonly #parts: SessionParts;
  #nextId = 1;

  private constructor(link: Link, parts: SessionParts) {
    this.link = link;
    this.#parts = parts;
    void this.#hear();
  }

  /** Connects, and subscribes to everything that comes down.
   *  @returns why it could not, or the session */
  static async open(identity: Identity, parts: SessionParts): Promise<Session | string> {
    const dialled = await dial(identity);
    if (dialled.kind === "failed") return dialled.reason;
    const { link } = dialled;
    link.send(connectPacket({ clientId: identity.unit }));
    const connack = await link.next("connack", patience);
    if (connack === null || connack.code !== 0) {
      link.cut();
      return connack === null ? "no CONNACK came" : `CONNACK ${connack.code}`;
    }
    parts.downlink.begin();
    const session = new Session(link, parts);
    const granted = await session.subscribe(downlinkFilter(identity.unit));
    if (granted !== null && granted <= 2) return session;
    link.cut();
    return `the subscription to ${downlinkFilter(identity.unit)} was not granted`;
  }

  /** @returns what was granted, 128 for nothing; null where no answer came */
  async subscribe(filter: string): Promise<number | null> {
    const id = this.#id();
    this.link.send(subscribePacket(id, [[filter, 1]]));
    const suback = await this.link.next("suback", patience, (packet) => packet.id === id);
    return suback?.granted[0] ?? null;
  }

  /** Publishes with QoS 1. @returns whether a PUBACK came */
  async publish(
    topic: string,
    payload: Uint8Array,
    flags: { retain?: boolean; dup?: boolean } = {},
  ): Promise<boolean> {
    const id = this.#id();
    this.link.send(publishPacket({ topic, payload, qos: 1, id, ...flags }));
    return (await this.link.next("puback", patience, (packet) => packet.id === id)) !== null;
  }

  /** The next message from the server that is wanted; null where none comes in time. */
  next<Wanted extends FromServer>(
    wanted: (message: FromServer) => message is Wanted,
    milliseconds = patience,
  ): Promise<Wanted | null> {
    return this.#parts.downlink.mailbox.take(milliseconds, wanted);
  }

  /** @returns whether a receipt covers this sequence in time */
  async receipted(sequence: number, milliseconds = patience): Promise<boolean> {
    const ends = Date.now() + milliseconds;
    while (!this.#parts.book.covers(sequence)) {
      const left = ends - Date.now();
      if (left <= 0 || (await this.next(isReceipt, left)) === null) break;
    }
    return this.#parts.book.covers(sequence);
  }

  async #hear(): Promise<void> {
    const forever = 2 ** 31 - 1;
    for (;;) {
      const packet = await this.link.next("publish", forever);
      if (packet === null) break;
      if (packet.id !== null) this.link.send(pubackPacket(packet.id));
      this.#parts.downlink.take(packet, (receipt) => this.#parts.book.take(receipt));
    }
  }

  #id(): number {
    this.#nextId = (this.#nextId % 65_535) + 1;
    return this.#nextId;
  }
}
