import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { isCborMap } from "../../firmware-protocol/src/cbor/item.ts";
import { readCbor } from "../../firmware-protocol/src/cbor/read.ts";
import { writeCbor } from "../../firmware-protocol/src/cbor/write.ts";
import { decodeDownlink, decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { peekKind } from "../../firmware-protocol/src/peek-kind.ts";
import { downlinkMessage, uplinkMessage } from "./arbitrary-messages.ts";
import { hostile } from "./hostile-bytes.ts";
import { type Direction, decode, encode, hexOf } from "./vectors.ts";

const anyForm = { deterministic: false, maximumDepth: 8 };

function hasLaterEntries(bytes: Uint8Array): boolean {
  const reading = readCbor(bytes, { ...anyForm, deterministic: true });
  if (reading.kind === "problem" || !isCborMap(reading.item)) return false;
  return [...reading.item.keys()].some((key) => typeof key === "bigint" || Number(key) >= 64);
}

/** The whole promise about bytes from outside: no throw, and whatever is accepted has these bytes as its one form,
 *  unless it carries entries of a newer version, which are passed over. */
function search(
  decoder: typeof decode,
  runs: number,
): fc.RunDetails<[{ way: Direction; bytes: Uint8Array }]> {
  const promise = fc.property(hostile, ({ way, bytes }) => {
    const message = decoder(way, bytes);
    if (message.kind === "unreadable") return message.clause.startsWith("FP-") && message.reason.length > 0;
    return hexOf(encode(message)) === hexOf(bytes) || hasLaterEntries(bytes);
  });
  return fc.check(promise, { numRuns: runs, seed: 20260503 });
}

describe("messages of every kind", () => {
  it("come back from the wire as they went", () => {
    const up = fc.property(uplinkMessage, (message) => {
      expect(decodeUplink(encodeUplink(message))).toEqual(message);
    });
    const peeked = fc.property(uplinkMessage, fc.uint8Array({ maxLength: 9 }), (message, before) => {
      const bytes = Uint8Array.of(...before, ...encodeUplink(message));
      expect(peekKind(bytes, before.length)).toBe(message.kind);
    });
    fc.assert(peeked, { numRuns: 500 });
    const down = fc.property(downlinkMessage, (message) => {
      expect(decodeDownlink(encodeDownlink(message))).toEqual(message);
    });
    fc.assert(up, { numRuns: 1000 });
    fc.assert(down, { numRuns: 400 });
  });
});

describe("bytes from outside", () => {
  it("never make a decoder throw, and have one form when accepted", () => {
    expect(search(decode, 6000)).toMatchObject({ failed: false, numRuns: 6000 });
  });

  it("are searched well enough to find a decoder that throws in one rare case", () => {
    const throwing: typeof decode = (way, bytes) => {
      const message = decode(way, bytes);
      if (message.kind === "unreadable" && message.clause === "FP-3.7") throw new TypeError("planted");
      return message;
    };
    expect(search(throwing, 6000)).toMatchObject({ failed: true });
  });

  it("are searched well enough to find a decoder that lets a byte after the message pass", () => {
    const lenient: typeof decode = (way, bytes) => {
      const message = decode(way, bytes);
      const trailing =
        message.kind === "unreadable" && /byte (\d+): bytes follow the item/.exec(message.reason);
      return trailing ? decode(way, bytes.subarray(0, Number(trailing[1]))) : message;
    };
    expect(search(lenient, 6000)).toMatchObject({ failed: true });
  });

  it("are searched well enough to find a decoder that takes any valid form for the one form", () => {
    const lenient: typeof decode = (way, bytes) => {
      const reading = readCbor(bytes, anyForm);
      return decode(way, reading.kind === "item" ? writeCbor(reading.item) : bytes);
    };
    expect(search(lenient, 6000)).toMatchObject({ failed: true });
  });
});
