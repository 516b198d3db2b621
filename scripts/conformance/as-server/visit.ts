import type { TLSSocket } from "node:tls";
import type { DownlinkMessage } from "../../../firmware-protocol/src/downlink.ts";
import { encodeDownlink } from "../../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { topicRoot } from "../../../firmware-protocol/src/topics.ts";
import { Mailbox } from "../mailbox.ts";
import type { Link } from "../mqtt/link.ts";
import type { ConnectHeard, PublishHeard } from "../mqtt/packet-reader.ts";
import {
  connackPacket,
  pingrespPacket,
  pubackPacket,
  publishPacket,
  subackPacket,
  unsubackPacket,
} from "../mqtt/packets.ts";

export interface VisitRules {
  /** What the message is, once it is looked at; null for what can't be read. */
  readonly heard: (packet: PublishHeard) => UplinkMessage | null;
  /** After each message, for receipts. */
  readonly answered: (visit: Visit) => void;
}

const forever = 2 ** 31 - 1;

/** One connection of the unit that is looked at. */
export class Visit {
  readonly connect: ConnectHeard;
  readonly socket: TLSSocket;
  readonly subscribed: { readonly filter: string; readonly qos: number }[] = [];
  /** Messages that came before the unit had subscribed to anything. */
  publishedBeforeSubscribing = 0;
  mostUnacknowledged = 0;
  readonly #link: Link;
  readonly #unit: string;
  readonly #rules: VisitRules;
  readonly #inbox = new Mailbox<UplinkMessage>();
  #held: number[] | null = [];
  #nextId = 1;

  constructor(link: Link, connect: ConnectHeard, socket: TLSSocket, unit: string, rules: VisitRules) {
    this.#link = link;
    this.connect = connect;
    this.socket = socket;
    this.#unit = unit;
    this.#rules = rules;
    link.send(connackPacket(false, 0));
    void this.#hearPublishes();
    void this.#hearSubscriptions();
    void this.#answerPings();
    void this.#answerUnsubscribes();
  }

  get isOpen(): boolean {
    return !this.#link.isClosed;
  }

  /** Until this is called no PUBACK is sent: it shows how many the unit has on the way. */
  acknowledge(): void {
    for (const id of this.#held ?? []) this.#link.send(pubackPacket(id));
    this.#held = null;
  }

  say(message: DownlinkMessage): void {
    this.sayBytes(message.kind, encodeDownlink(message));
  }

  sayBytes(kind: string, payload: Uint8Array): void {
    const topic = `${topicRoot(this.#unit)}/down/${kind}`;
    this.#nextId = (this.#nextId % 65_535) + 1;
    this.#link.send(publishPacket({ topic, payload, qos: 1, id: this.#nextId }));
  }

  /** The next message of this connection that is wanted. */
  next<Wanted extends UplinkMessage>(
    milliseconds: number,
    wanted: (message: UplinkMessage) => message is Wanted,
  ): Promise<Wanted | null> {
    return this.#inbox.take(milliseconds, wanted);
  }

  /** @returns whether the connection ended in this time */
  endsWithin(milliseconds: number): Promise<boolean> {
    return this.#link.closedWithin(milliseconds);
  }

  cut(): void {
    this.#link.cut();
  }

  async #hearPublishes(): Promise<void> {
    for (;;) {
      const packet = await this.#link.next("publish", forever);
      if (packet === null) break;
      if (this.subscribed.length === 0) this.publishedBeforeSubscribing += 1;
      const message = this.#rules.heard(packet);
      if (packet.id !== null) this.#acknowledgeOrHold(packet.id);
      if (message !== null) this.#inbox.put(message);
      this.#rules.answered(this);
    }
    this.#inbox.end();
  }

  #acknowledgeOrHold(id: number): void {
    if (this.#held === null) {
      this.#link.send(pubackPacket(id));
      return;
    }
    this.#held.push(id);
    this.mostUnacknowledged = Math.max(this.mostUnacknowledged, this.#held.length);
  }

  async #hearSubscriptions(): Promise<void> {
    for (;;) {
      const packet = await this.#link.next("subscribe", forever);
      if (packet === null) return;
      this.subscribed.push(...packet.filters);
      this.#link.send(
        subackPacket(
          packet.id,
          packet.filters.map(({ qos }) => Math.min(qos, 1)),
        ),
      );
      this.#rules.answered(this);
    }
  }

  async #answerPings(): Promise<void> {
    while ((await this.#link.next("pingreq", forever)) !== null) this.#link.send(pingrespPacket);
  }

  async #answerUnsubscribes(): Promise<void> {
    for (;;) {
      const packet = await this.#link.next("unsubscribe", forever);
      if (packet === null) return;
      this.#link.send(unsubackPacket(packet.id));
    }
  }
}
