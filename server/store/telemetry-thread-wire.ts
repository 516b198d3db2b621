import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { AppendOutcome, IncomingMessage } from "./telemetry-port.ts";

/** A batch as it goes to the writer's thread: all payloads in one piece of memory that changes hands, and columns. Small
 *  buffers sent one by one would each take the whole pool along that they were cut from. */
export interface WiredBatch {
  /** Each sender and topic once, and which of them each message has: few texts go over, however many messages. */
  readonly origins: readonly { readonly unit: UnitSerial; readonly topic: string }[];
  readonly originOf: Uint32Array;
  readonly receivedAt: Float64Array;
  readonly lengths: Uint32Array;
  readonly payloads: Uint8Array<ArrayBuffer>;
}

export type WriterRequest =
  | { readonly ask: "append"; readonly batch: WiredBatch }
  | { readonly ask: "tidy"; readonly now: Instant; readonly forMilliseconds: number }
  | { readonly ask: "unreviewed"; readonly unit: UnitSerial | null }
  | { readonly ask: "close" };

export type WriterAnswer =
  | { readonly answer: "appended"; readonly outcome: AppendOutcome }
  | { readonly answer: "tidied"; readonly isMore: boolean }
  | { readonly answer: "unreviewed"; readonly units: readonly NewsOfUnit[] }
  | { readonly answer: "closed" }
  /** `code` as the driver gave it: what is wrong with the storage shows in it. */
  | { readonly answer: "failed"; readonly reason: string; readonly code: string | null };

export interface NewsOfUnit {
  readonly unit: UnitSerial;
  readonly earliest: Instant | null;
  readonly throughMessage: number;
}

export function wired(batch: readonly IncomingMessage[]): WiredBatch {
  const lengths = Uint32Array.from(batch, ({ payload }) => payload.length);
  const payloads = new Uint8Array(lengths.reduce((sum, length) => sum + length, 0));
  let at = 0;
  for (const { payload } of batch) {
    payloads.set(payload, at);
    at += payload.length;
  }
  const places = new Map<string, number>();
  const origins: { unit: UnitSerial; topic: string }[] = [];
  const originOf = Uint32Array.from(batch, ({ unit, topic }) => {
    const known = places.get(topic);
    // A topic names its unit; where it doesn't, the two are a pair of their own.
    if (known !== undefined && origins[known]?.unit === unit) return known;
    places.set(topic, origins.length);
    return origins.push({ unit, topic }) - 1;
  });
  return {
    origins,
    originOf,
    receivedAt: Float64Array.from(batch, (message) => message.receivedAt),
    lengths,
    payloads,
  };
}

export function unwired({ origins, originOf, receivedAt, lengths, payloads }: WiredBatch): IncomingMessage[] {
  let at = 0;
  return Array.from(lengths, (length, index) => {
    const from = at;
    at += length;
    const origin = origins[originOf[index] ?? 0];
    if (origin === undefined) throw new Error("a message of no sender");
    const { unit, topic } = origin;
    return { unit, topic, receivedAt: instant(receivedAt[index] ?? 0), payload: payloads.subarray(from, at) };
  });
}
