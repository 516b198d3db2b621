import { isCborMap, major } from "./cbor/item.ts";
import { readCbor } from "./cbor/read.ts";
import { writeCbor } from "./cbor/write.ts";
import { crc32 } from "./crc32.ts";
import { maximumDepth, maximumUplinkBytes } from "./limits.ts";
import { isSerial } from "./topics.ts";

/** [FP-15.2] */
const logVersion = 1;
const logCode = 128;

export interface LogRecord {
  /** From 1. */
  readonly number: number;
  /** Where in the file it begins. */
  readonly byte: number;
  /** Exactly the bytes that would have been published. */
  readonly payload: Uint8Array;
}

export interface LogFault {
  readonly number: number;
  readonly byte: number;
  readonly what: "damaged" | "cut-off" | "not-a-record";
}

export type ReadLog =
  | { readonly kind: "not-a-log"; readonly reason: string }
  | {
      readonly kind: "log";
      readonly unit: string;
      readonly records: readonly LogRecord[];
      /** What could not be read; after a cut or something that is no record, nothing more was. */
      readonly faults: readonly LogFault[];
    };

/** Reads a log file, as far as it is whole. Never throws. */
export function readLogFile(bytes: Uint8Array): ReadLog {
  const header = readHeader(bytes);
  if (header.kind === "not-a-log") return header;
  const records: LogRecord[] = [];
  const faults: LogFault[] = [];
  let byte = header.length;
  for (let number = 1; byte < bytes.length; number += 1) {
    const read = readRecord(bytes, byte);
    if (read === "cut-off" || read === "not-a-record") {
      faults.push({ number, byte, what: read });
      break;
    }
    if (read.sound) records.push({ number, byte, payload: read.payload });
    else faults.push({ number, byte, what: "damaged" });
    byte = read.end;
  }
  return { kind: "log", unit: header.unit, records, faults };
}

/** @param payloads messages as published, oldest first */
export function writeLogFile(unit: string, payloads: readonly Uint8Array[]): Uint8Array {
  const parts = [
    writeCbor(
      new Map<number, number | string>([
        [0, logVersion],
        [1, logCode],
        [2, unit],
      ]),
    ),
    ...payloads.map((payload) => writeCbor([payload, crc32(payload)])),
  ];
  const file = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    file.set(part, at);
    at += part.length;
  }
  return file;
}

type Header =
  | { readonly kind: "header"; readonly unit: string; readonly length: number }
  | { readonly kind: "not-a-log"; readonly reason: string };

const notALog = (reason: string): Header => ({ kind: "not-a-log", reason });

/** The longest serial is 32 characters: a header of 40 bytes at most. */
function readHeader(bytes: Uint8Array): Header {
  if (bytes[0] !== 0xa3) return notALog("it doesn’t begin with the header of a unit’s log");
  const length = headerLength(bytes);
  if (length === null) return notALog("its header is cut off");
  const read = readCbor(bytes.subarray(0, length), { deterministic: true, maximumDepth });
  if (read.kind === "problem" || !isCborMap(read.item)) return notALog("its header can’t be read");
  if (read.item.get(1) !== logCode) return notALog("its header is not that of a unit’s log");
  if (read.item.get(0) !== logVersion) return notALog("it is of a version that isn’t known here");
  const unit = read.item.get(2);
  if (typeof unit !== "string" || !isSerial(unit)) return notALog("its header names no unit");
  return { kind: "header", unit, length };
}

/** a3 00 01 01 18 80 02, then the serial with its head. */
function headerLength(bytes: Uint8Array): number | null {
  const text = headAt(bytes, 7);
  if (text === "cut-off" || text === "not-a-record") return null;
  const end = text.next + text.argument;
  return end <= bytes.length ? end : null;
}

interface ReadRecord {
  readonly payload: Uint8Array;
  readonly sound: boolean;
  readonly end: number;
}

/** [FP-15.3] A list of two: the payload and its checksum. */
function readRecord(bytes: Uint8Array, at: number): ReadRecord | "cut-off" | "not-a-record" {
  if (bytes[at] !== 0x82) return "not-a-record";
  const string = headAt(bytes, at + 1);
  if (typeof string === "string") return string;
  if (string.kind !== major.bytes || string.argument > maximumUplinkBytes) return "not-a-record";
  const endOfPayload = string.next + string.argument;
  if (endOfPayload >= bytes.length) return "cut-off";
  const checksum = headAt(bytes, endOfPayload);
  if (typeof checksum === "string") return checksum;
  if (checksum.kind !== major.unsigned) return "not-a-record";
  const payload = bytes.slice(string.next, endOfPayload);
  return { payload, sound: crc32(payload) === checksum.argument, end: checksum.next };
}

interface Head {
  readonly kind: number;
  readonly argument: number;
  readonly next: number;
}

/** A head of at most four bytes' argument; nothing in a log needs a longer one. */
function headAt(bytes: Uint8Array, at: number): Head | "cut-off" | "not-a-record" {
  const first = bytes[at];
  if (first === undefined) return "cut-off";
  const kind = first >> 5;
  const info = first & 31;
  if (info < 24) return { kind, argument: info, next: at + 1 };
  const width = info === 24 ? 1 : info === 25 ? 2 : info === 26 ? 4 : 0;
  if (width === 0) return "not-a-record";
  if (at + width >= bytes.length) return "cut-off";
  let argument = 0;
  for (let place = 1; place <= width; place += 1) argument = argument * 256 + (bytes[at + place] ?? 0);
  return { kind, argument, next: at + 1 + width };
}
