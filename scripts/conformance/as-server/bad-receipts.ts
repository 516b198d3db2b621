import { type CborItem, type CborMap, isCborMap } from "../../../firmware-protocol/src/cbor/item.ts";
import { readCbor } from "../../../firmware-protocol/src/cbor/read.ts";
import { writeCbor } from "../../../firmware-protocol/src/cbor/write.ts";
import { decodeDownlink } from "../../../firmware-protocol/src/decode.ts";
import type { StoredUpTo } from "../../../firmware-protocol/src/downlink.ts";
import { encodeDownlink } from "../../../firmware-protocol/src/encode.ts";
import { maximumDownlinkBytes } from "../../../firmware-protocol/src/limits.ts";

export interface BadReceipt {
  readonly clause: string;
  readonly what: string;
  readonly bytes: Uint8Array;
}

const key = { version: 0, message: 1, stored: 16, serverTime: 17 } as const;

/** Receipts that would let a unit forget everything, each with one thing wrong with it. */
export function badReceipts(stored: readonly StoredUpTo[], serverUnixSeconds: number): readonly BadReceipt[] {
  const good = Buffer.from(encodeDownlink({ kind: "receipt", stored, serverUnixSeconds }));
  const entries = entriesOf(good);
  const changed = (at: number, item: CborItem): Uint8Array => writeCbor(new Map(entries).set(at, item));
  const all = stored.map(({ boot, through, holes }) => [boot, through, holes]);
  const more = Array.from({ length: 9 }, (_, at) => [0xffff_0000 + at, 0, []]);
  const [boot = 0, through = 0] = [stored[0]?.boot, stored[0]?.through];
  const candidates: readonly BadReceipt[] = [
    bad("FP-3.1", "with a byte after its end", Buffer.concat([good, Buffer.of(0)])),
    bad("FP-3.2", "of more than 4 096 bytes", changed(64, new Uint8Array(maximumDownlinkBytes))),
    bad("FP-3.3", "that is a list and no map", writeCbor([1, 64, all, serverUnixSeconds])),
    bad("FP-3.4", "with its version in a longer form", splice(good, 1, [0x00, 0x18, 0x01])),
    bad(
      "FP-3.5",
      "of indefinite length",
      Buffer.concat([Buffer.of(0xbf), good.subarray(1), Buffer.of(0xff)]),
    ),
    bad("FP-3.6", "with its keys out of order", swapped(good)),
    bad(
      "FP-3.7",
      "with its version twice",
      Buffer.concat([Buffer.of((good[0] ?? 0) + 1, 0x00, 0x01), good.subarray(1)]),
    ),
    bad(
      "FP-3.10",
      "with a float for the server's time",
      changed(key.serverTime, { kind: "float", value: serverUnixSeconds }),
    ),
    bad("FP-4.1", "of version 2", changed(key.version, 2)),
    bad("FP-4.2", "of the number 100", changed(key.message, 100)),
    bad("FP-4.8", "without the server's time", without(entries, key.serverTime)),
    bad("FP-4.9", "with an entry of key 30", changed(30, 0)),
    bad("FP-7.1", "of more than 8 boots", changed(key.stored, [...all.slice(0, 1), ...more])),
    bad("FP-7.2", "with a sequence over 32 bits", changed(key.stored, [[boot, 2 ** 33, []]])),
    bad(
      "FP-7.3",
      "with a hole after its end",
      changed(key.stored, [[boot, through, [[through + 5, through + 9]]]]),
    ),
    bad("FP-7.4", "with a server's time over 32 bits", changed(key.serverTime, 2 ** 33)),
  ];
  for (const { clause, bytes } of candidates) {
    const message = decodeDownlink(bytes);
    if (message.kind !== "unreadable" || message.clause !== clause)
      throw new Error(`the receipt that is to break ${clause} does not`);
  }
  return candidates;
}

const bad = (clause: string, what: string, bytes: Uint8Array): BadReceipt => ({ clause, what, bytes });

function entriesOf(bytes: Uint8Array): CborMap {
  const reading = readCbor(bytes, { deterministic: true, maximumDepth: 8 });
  if (reading.kind === "problem" || !isCborMap(reading.item)) throw new Error("a receipt of ours is no map");
  return reading.item;
}

function without(entries: CborMap, gone: number): Uint8Array {
  const left = new Map(entries);
  left.delete(gone);
  return writeCbor(left);
}

/** Puts other bytes for the two of the entry that begins at `at`. */
const splice = (bytes: Buffer, at: number, other: readonly number[]): Buffer =>
  Buffer.concat([bytes.subarray(0, at), Buffer.from(other), bytes.subarray(at + 2)]);

/** The first two entries of a receipt are 00 01 and 01 18 40. */
const swapped = (bytes: Buffer): Buffer =>
  Buffer.concat([bytes.subarray(0, 1), bytes.subarray(3, 6), bytes.subarray(1, 3), bytes.subarray(6)]);
