import { setTimeout as wait } from "node:timers/promises";
import type { MqttClient } from "mqtt";
import { decodeDownlink } from "../../firmware-protocol/src/decode.ts";
import type { StoredUpTo } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { closed, connectUnit, type UnitCredentials } from "../ingest/broker-rig.ts";
import { minutesUpTo } from "../ingest/cushion-messages.ts";

const inFlight = 32;
const boot = 1;

/** A unit that sends as fast as it is acknowledged, remembers what was, and resends what wasn't. */
export class LoadedUnit {
  readonly credentials: UnitCredentials;
  readonly acknowledged = new Set<number>();
  readonly receipted = new Set<number>();
  #next = 0;
  #client: MqttClient | null = null;

  constructor(credentials: UnitCredentials) {
    this.credentials = credentials;
  }

  /** How many different messages have ever been sent. */
  get written(): number {
    return this.#next;
  }

  get isConnected(): boolean {
    return this.#client?.connected ?? false;
  }

  async connect(port: number): Promise<void> {
    this.#client = await connectUnit(port, this.credentials);
    this.#client.on("message", (_topic, payload) => {
      const message = decodeDownlink(payload);
      if (message.kind === "receipt") for (const upTo of message.stored) this.#forget(upTo);
    });
    await this.#client.subscribeAsync(downlinkFilter(this.credentials.unit), { qos: 1 });
  }

  /** Sends what was never acknowledged, then new messages without end, until the connection is gone. */
  load(): void {
    const unsettled = this.unsettled();
    const sendNext = (): void => {
      const sequence = unsettled.shift() ?? this.#next++;
      this.#publish(sequence).then(sendNext, () => {});
    };
    for (let slot = 0; slot < inFlight; slot++) sendNext();
  }

  unsettled(): number[] {
    return Array.from({ length: this.#next }, (_, sequence) => sequence).filter(
      (sequence) => !this.acknowledged.has(sequence),
    );
  }

  /** Sends these and waits for every acknowledgement. */
  async resend(sequences: readonly number[]): Promise<void> {
    await Promise.all(sequences.map((sequence) => this.#publish(sequence)));
  }

  /** As a unit does that has a record to deliver: connects, sends what was never acknowledged and then new messages,
   *  and comes back whenever the connection is gone, until told otherwise. */
  async loadThroughFaults(port: number, isOver: () => boolean): Promise<void> {
    while (!isOver()) {
      try {
        await this.connect(port);
        const client = this.#client;
        if (client === null) continue;
        const ended = closed(client);
        this.load();
        while (!isOver() && client.connected) await Promise.race([ended, wait(50)]);
      } catch {
        // Refused or gone: it comes again.
      }
      this.hangUp();
      await wait(100);
    }
  }

  hangUp(): void {
    this.#client?.end(true);
    this.#client = null;
  }

  async #publish(sequence: number): Promise<void> {
    const client = this.#client;
    if (client === null) throw new Error("not connected");
    const { unit } = this.credentials;
    const message = minutesUpTo({ unit, boot, sequence, uptime: 60 * (sequence + 1) }, 1);
    await client.publishAsync(uplinkTopic(unit, "minutes"), Buffer.from(encodeUplink(message)), { qos: 1 });
    this.acknowledged.add(sequence);
  }

  #forget({ through, holes }: StoredUpTo): void {
    for (let sequence = 0; sequence <= through; sequence++) {
      if (!holes.some(([from, to]) => sequence >= from && sequence <= to)) this.receipted.add(sequence);
    }
  }
}
