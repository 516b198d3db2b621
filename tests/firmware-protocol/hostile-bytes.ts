import fc from "fast-check";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { downlinkMessage, uplinkMessage } from "./arbitrary-messages.ts";
import type { Direction } from "./vectors.ts";

/** The encoding of any message that keeps the protocol. */
export const encoded = fc.oneof(
  uplinkMessage.map((message) => ({ way: "up" as Direction, bytes: encodeUplink(message) })),
  downlinkMessage.map((message) => ({ way: "down" as Direction, bytes: encodeDownlink(message) })),
);

const mutation = fc.record({
  change: fc.constantFrom("set", "insert", "remove", "repeat"),
  at: fc.nat(),
  byte: fc.integer({ min: 0, max: 255 }),
});

function mutated(
  bytes: Uint8Array,
  mutations: readonly { change: string; at: number; byte: number }[],
): Uint8Array {
  const changed = Array.from(bytes);
  for (const { change, at, byte } of mutations) {
    const place = at % (changed.length + 1);
    if (change === "set") changed[place] = byte;
    else if (change === "insert") changed.splice(place, 0, byte);
    else if (change === "remove") changed.splice(place, 1);
    else changed.splice(place, 0, ...changed.slice(place, place + 1 + (byte % 8)));
  }
  return Uint8Array.from(changed);
}

/** Random bytes, and messages damaged in a few places. */
export const hostile = fc.oneof(
  fc
    .uint8Array({ maxLength: 200 })
    .chain((bytes) => fc.constantFrom<Direction>("up", "down").map((way) => ({ way, bytes }))),
  fc
    .tuple(encoded, fc.array(mutation, { minLength: 1, maxLength: 4 }))
    .map(([{ way, bytes }, mutations]) => ({ way, bytes: mutated(bytes, mutations) })),
);
