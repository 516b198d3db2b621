import type { Plan } from "../../firmware-protocol/src/downlink.ts";
import type { Envelope, MinuteRecord, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { MessageStore } from "./store.ts";
import type { UnitClock } from "./unit-clock.ts";

/** A message without its envelope. */
export type MessageBody = UplinkMessage extends infer Message
  ? Message extends UplinkMessage
    ? Omit<Message, keyof Envelope>
    : never
  : never;

/** Puts envelopes on messages and keeps them: (unit, boot, sequence) is given out here and nowhere else. */
export class MessageWriter {
  readonly #unit: string;
  readonly #clock: UnitClock;
  readonly #store: MessageStore;
  #boot = 0;
  #sequence = 0;
  #pending: MinuteRecord[] = [];
  #pendingSince = 0;

  /** @param bootsBefore of the unit's life so far: a boot number is never used twice [FP-4.4] */
  constructor(unit: string, clock: UnitClock, store: MessageStore, bootsBefore = 0) {
    this.#boot = bootsBefore;
    this.#unit = unit;
    this.#clock = clock;
    this.#store = store;
  }

  get boot(): number {
    return this.#boot;
  }

  get pendingMinutes(): number {
    return this.#pending.length;
  }

  startBoot(): void {
    this.#boot += 1;
    this.#sequence = 0;
    this.#pending = [];
  }

  addMinute(record: MinuteRecord, uptimeSeconds: number): void {
    if (this.#pending.length === 0) this.#pendingSince = uptimeSeconds;
    this.#pending.push(record);
  }

  flushMinutes(uptimeSeconds: number): void {
    if (this.#pending.length === 0) return;
    const minutes = this.#pending;
    this.#pending = [];
    this.write({ kind: "minutes", firstUptimeSeconds: this.#pendingSince, minutes }, uptimeSeconds);
  }

  /** @returns the sequence it was given */
  write(body: MessageBody, uptimeSeconds: number): number {
    const sequence = this.#sequence;
    const lost = this.#store.keep(this.#inEnvelope(body, uptimeSeconds));
    for (const range of lost) {
      const fault: MessageBody = {
        kind: "fault",
        fault: "store-overrun",
        atUptimeSeconds: uptimeSeconds,
        lost: range,
        value: null,
      };
      // Room was just made: keeping the fault itself drops nothing.
      this.#store.keep(this.#inEnvelope(fault, uptimeSeconds));
    }
    return sequence;
  }

  #inEnvelope(body: MessageBody, uptimeSeconds: number): UplinkMessage {
    const envelope: Envelope = {
      unit: this.#unit,
      boot: this.#boot,
      sequence: this.#sequence,
      uptimeSeconds,
      wallSeconds: this.#clock.wallSecondsAt(uptimeSeconds),
    };
    this.#sequence += 1;
    return { ...envelope, ...body };
  }
}

/** What a unit goes by until it is told: nothing. */
export type PlanInForce = Omit<Plan, "kind"> | null;
