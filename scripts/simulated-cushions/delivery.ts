import type { Certificate, DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { Certificates, endOf, isRefusal } from "./certificates.ts";
import { CushionConnection } from "./connection.ts";
import type { SimulatedCushion } from "./cushion.ts";
import { type Enrolled, makeUnitKey, type UnitKey } from "./enrol.ts";
import type { PlanInForce } from "./message-writer.ts";
import { type Random, randomFrom } from "./random.ts";
import { certificateFor, requestBytes } from "./renewal.ts";
import type { MessageStore } from "./store.ts";
import { hour, type Moment, minute, second } from "./wall-clock.ts";

export interface DeliveryReport {
  readonly sent: number;
  /** Still waiting for a receipt. */
  readonly waiting: number;
  /** null: the broker was there, or there was no reason or no way to call it. */
  readonly problem: string | null;
}

/** [FP-2.8] says 64; a little below leaves room. */
const mostUnacknowledged = 48;
/** Of a long backlog, the newest go first [FP-6.8]. */
const newestFirst = 12;
const outOfTouch = 90 * minute;
const longestWait = 5 * minute;

/** A cushion that has something to send, as far as its post is concerned. */
export interface Deliverable {
  readonly spec: { readonly serial: string };
  readonly store: MessageStore;
  mayDeliver(at: Moment): boolean;
  receive(message: DownlinkMessage, at: Moment, request?: Uint8Array | null): void;
  certificateIs(notAfterUnixSeconds: number): void;
  receiveUnreadable(command: UnreadableCommand, at: Moment): void;
  greet(at: Moment): void;
  follow(plan: PlanInForce): void;
}

/** A cushion's post: connects when there is something to send and a way to send it, publishes what waits in the store,
 *  and lets the store forget on receipts only. */
export class Delivery<Cushion extends Deliverable = SimulatedCushion> {
  readonly cushion: Cushion;
  readonly #certificates: Certificates;
  readonly #unit: string;
  /** Made for a certificate that was asked for and has not come yet; asked with again [FP-12.2]. */
  #newKey: Promise<UnitKey> | null = null;
  readonly #random: Random;
  #connection: CushionConnection | null = null;
  #opening: Promise<CushionConnection> | null = null;
  readonly #clock: (() => Moment) | null;
  #now: Moment = 0;
  #lastDelivered: Moment | null = null;
  #woken: (() => void) | null = null;
  #failures = 0;
  /** By this computer's clock, not the story's. */
  #quietUntil = 0;

  /** @param clock for a unit that is asked things between its deliveries; without it time stands still in between */
  constructor(cushion: Cushion, enrolled: Enrolled | Certificates, clock: (() => Moment) | null = null) {
    this.cushion = cushion;
    this.#clock = clock;
    this.#certificates = enrolled instanceof Certificates ? enrolled : new Certificates(enrolled);
    this.#unit = cushion.spec.serial;
    this.#random = randomFrom(`${this.#unit}/waits`);
    cushion.certificateIs(endOf(this.#certificates.toUse(0)));
  }

  /** Sends all that waits and stays until every message has its receipt, or until `patienceSeconds` have gone.
   *  What isn't receipted stays in the store, and is sent again next time. */
  async deliver(at: Moment, patienceSeconds: number): Promise<DeliveryReport> {
    this.#now = at;
    const { store } = this.cushion;
    const nothingToDo = store.length === 0 || !this.cushion.mayDeliver(at) || Date.now() < this.#quietUntil;
    if (nothingToDo) return { sent: 0, waiting: store.length, problem: null };
    if (this.#lastDelivered !== null && at - this.#lastDelivered >= outOfTouch) this.cushion.greet(at);
    let waiting: readonly UplinkMessage[];
    try {
      const connection = await this.#openConnection();
      // Only now: a command may have been waiting, and its answer goes along.
      waiting = inOrderOfSending(store.messages);
      const receipted = this.#untilForgotten(patienceSeconds);
      await publishAll(connection, waiting);
      await receipted;
    } catch (problem) {
      this.#woken?.();
      await this.hangUp();
      this.#waitBeforeNext(problem);
      return { sent: 0, waiting: store.length, problem: String(problem) };
    }
    this.#failures = 0;
    this.#lastDelivered = at;
    return { sent: waiting.length, waiting: store.length, problem: null };
  }

  async hangUp(): Promise<void> {
    const connection = this.#connection;
    this.#connection = null;
    await connection?.close().catch(() => undefined);
  }

  /** Whoever asks while one is being opened gets that one: a unit has one connection. */
  #openConnection(): Promise<CushionConnection> {
    this.#opening ??= this.#open().finally(() => {
      this.#opening = null;
    });
    return this.#opening;
  }

  async #open(): Promise<CushionConnection> {
    if (this.#connection?.isOpen) return this.#connection;
    await this.hangUp();
    const connection = await this.#connectWith(this.#certificates.toUse(this.#now));
    connection.onClosed(() => this.#woken?.());
    this.#connection = connection;
    return connection;
  }

  async #connectWith(enrolled: Enrolled): Promise<CushionConnection> {
    try {
      return await CushionConnection.open(enrolled, {
        connectSeconds: 5,
        onMessage: (message) => this.#receive(message, enrolled),
        onUnreadableCommand: (command) =>
          this.#answering(() => this.cushion.receiveUnreadable(command, this.#now)),
        onNoPlan: () => this.cushion.follow(null),
      });
    } catch (problem) {
      if (!isRefusal(problem) || !this.#certificates.refused(enrolled, this.#now)) throw problem;
      return await this.#connectWith(this.#certificates.toUse(this.#now));
    }
  }

  #receive(message: DownlinkMessage, connectedBy: Enrolled): void {
    if (message.kind === "receipt") this.#certificates.proved(connectedBy);
    if (message.kind === "command" && message.action === "renew-certificate") {
      this.#newKey ??= makeUnitKey(this.#unit);
      void this.#newKey.then((key) => this.#hear(message, requestBytes(key)));
    } else if (message.kind === "certificate") void this.#changeOver(message);
    else this.#hear(message, null);
  }

  #hear(message: DownlinkMessage, request: Uint8Array | null): void {
    const now = this.#clock?.() ?? this.#now;
    if (message.kind === "plan") this.cushion.receive(message, now);
    else this.#answering(() => this.cushion.receive(message, now, request));
    if (this.cushion.store.length === 0) this.#woken?.();
  }

  /** Takes the certificate only where it is for the key made for it, and connects anew with it [FP-12.5]. */
  async #changeOver(message: Certificate): Promise<void> {
    const key = await this.#newKey;
    const old = this.#certificates.toUse(this.#now);
    const chain = key === null ? null : certificateFor(old, key, message.chain);
    if (key === null || chain === null) return;
    this.#newKey = null;
    const taken = { ...old, privateKey: key.privateKey, certificateChain: chain };
    this.#certificates.takeOver(taken);
    this.cushion.certificateIs(endOf(taken));
    await this.hangUp();
    await this.#openConnection().catch(() => undefined);
  }

  /** Whoever asked is waiting. What isn't receipted stays in the store, as ever. */
  #answering(hear: () => void): void {
    const before = new Set(this.cushion.store.messages);
    hear();
    for (const message of this.cushion.store.messages)
      if (!before.has(message)) this.#connection?.publish(message).catch(() => undefined);
  }

  #untilForgotten(patienceSeconds: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(() => this.#woken?.(), patienceSeconds * second);
      this.#woken = () => {
        clearTimeout(timer);
        this.#woken = null;
        resolve();
      };
    });
  }

  /** Up to two seconds, doubling at each failure [FP-2.7]; an hour where the certificate was refused [FP-9.2]. */
  #waitBeforeNext(problem: unknown): void {
    const limit = Math.min(longestWait, 2 * second * 2 ** this.#failures);
    this.#failures += 1;
    this.#quietUntil = Date.now() + (isRefusal(problem) ? hour : this.#random.uniform(0, limit));
  }
}

function inOrderOfSending(messages: readonly UplinkMessage[]): readonly UplinkMessage[] {
  if (messages.length <= mostUnacknowledged) return [...messages];
  return [...messages.slice(-newestFirst), ...messages.slice(0, -newestFirst)];
}

/** Keeps the link full without ever having more than the protocol allows unacknowledged. */
async function publishAll(connection: CushionConnection, messages: readonly UplinkMessage[]): Promise<void> {
  let next = 0;
  const lane = async (): Promise<void> => {
    for (let message = messages[next]; message; message = messages[next]) {
      next += 1;
      await connection.publish(message);
    }
  };
  await Promise.all(Array.from({ length: Math.min(mostUnacknowledged, messages.length) }, lane));
}
