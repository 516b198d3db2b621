import { type CborMap, isCborMap } from "./cbor/item.ts";
import { readCbor } from "./cbor/read.ts";
import type { CborRule } from "./cbor/reading.ts";
import { readCertificate } from "./certificate.ts";
import { readCommand } from "./command.ts";
import type { DownlinkMessage } from "./downlink.ts";
import { messageCodes, readEnvelope, readHeader, refuseCode } from "./envelope.ts";
import { readFault } from "./fault.ts";
import { FieldReader } from "./field-reader.ts";
import { readFrame } from "./frame.ts";
import { readHello } from "./hello.ts";
import { maximumDepth, maximumDownlinkBytes, maximumUplinkBytes } from "./limits.ts";
import type { Envelope, UplinkMessage } from "./messages.ts";
import { readMinutes } from "./minutes.ts";
import { readNotice } from "./notice.ts";
import { readPlan } from "./plan.ts";
import { readPower } from "./power.ts";
import { readPrompt } from "./prompt.ts";
import { readReceipt } from "./receipt.ts";
import { readRelay } from "./relay.ts";
import { readRelief } from "./relief.ts";
import { readRenewal } from "./renewal.ts";
import { readResult } from "./result.ts";
import { readSelfTest } from "./self-test.ts";
import type { Unreadable } from "./unreadable.ts";

/** Reads a message from a unit, whatever the bytes are. Never throws. */
export function decodeUplink(bytes: Uint8Array): UplinkMessage | Unreadable {
  const map = readMessageMap(bytes, maximumUplinkBytes);
  if (map.kind === "unreadable") return map;
  const fields = new FieldReader(map.entries);
  const code = readHeader(fields);
  const headerProblem = fields.takeProblem();
  const envelope = readEnvelope(fields);
  const envelopeProblem = fields.takeProblem();
  const readable = envelopeProblem === null ? envelope : null;
  const problem = headerProblem ?? envelopeProblem;
  if (problem !== null) return unreadable(problem, readable);
  const message = readUplinkBody(code, envelope, fields);
  return checked(message, fields, readable);
}

function readUplinkBody(code: number, envelope: Envelope, fields: FieldReader): UplinkMessage | null {
  switch (code) {
    case messageCodes.hello:
      return readHello(envelope, fields);
    case messageCodes.minutes:
      return readMinutes(envelope, fields);
    case messageCodes.relief:
      return readRelief(envelope, fields);
    case messageCodes.frame:
      return readFrame(envelope, fields);
    case messageCodes.fault:
      return readFault(envelope, fields);
    case messageCodes.power:
      return readPower(envelope, fields);
    case messageCodes.relay:
      return readRelay(envelope, fields);
    case messageCodes["self-test"]:
      return readSelfTest(envelope, fields);
    case messageCodes.prompt:
      return readPrompt(envelope, fields);
    case messageCodes.notice:
      return readNotice(envelope, fields);
    case messageCodes.result:
      return readResult(envelope, fields);
    case messageCodes.renewal:
      return readRenewal(envelope, fields);
  }
  refuseCode(fields, code);
  return null;
}

/** Reads a message to a unit, whatever the bytes are. Never throws. */
export function decodeDownlink(bytes: Uint8Array): DownlinkMessage | Unreadable {
  const map = readMessageMap(bytes, maximumDownlinkBytes);
  if (map.kind === "unreadable") return map;
  const fields = new FieldReader(map.entries);
  const code = readHeader(fields);
  const problem = fields.takeProblem();
  if (problem !== null) return unreadable(problem, null);
  return checked(readDownlinkBody(code, fields), fields, null);
}

function readDownlinkBody(code: number, fields: FieldReader): DownlinkMessage | null {
  switch (code) {
    case messageCodes.receipt:
      return readReceipt(fields);
    case messageCodes.plan:
      return readPlan(fields);
    case messageCodes.command:
      return readCommand(fields);
    case messageCodes.certificate:
      return readCertificate(fields);
  }
  refuseCode(fields, code);
  return null;
}

function checked<T>(message: T | null, fields: FieldReader, envelope: Envelope | null): T | Unreadable {
  fields.refuseUnknown();
  const problem = fields.takeProblem();
  if (problem !== null) return unreadable(problem, envelope);
  if (message === null) throw new Error("a message neither read nor refused");
  return message;
}

/** [FP-3.1] to [FP-3.9]: one deterministic map with unsigned integer keys, of bounded length and depth. */
function readMessageMap(
  bytes: Uint8Array,
  maximumBytes: number,
): { kind: "map"; entries: CborMap } | Unreadable {
  if (bytes.length > maximumBytes)
    return unreadable(
      { clause: "FP-3.2", reason: `message: ${bytes.length} bytes, more than ${maximumBytes}` },
      null,
    );
  const reading = readCbor(bytes, { deterministic: true, maximumDepth });
  if (reading.kind === "problem") {
    const envelope = reading.partial === null ? null : envelopeWithin(reading.partial);
    return unreadable({ clause: clauseOf[reading.rule], reason: `message: ${reading.reason}` }, envelope);
  }
  if (!isCborMap(reading.item)) return unreadable({ clause: "FP-3.3", reason: "message: not a map" }, null);
  for (const key of reading.item.keys())
    if (!isUnsigned(key))
      return unreadable(
        { clause: "FP-3.3", reason: "message: a key that is no unsigned integer" },
        envelopeWithin(reading.item),
      );
  return { kind: "map", entries: reading.item };
}

const isUnsigned = (key: unknown): boolean =>
  (typeof key === "number" || typeof key === "bigint") && key >= 0;

/** Keys 0 to 6 come first and mean the same in every version, so a damaged message may still say whose it was. */
function envelopeWithin(entries: CborMap): Envelope | null {
  const fields = new FieldReader(entries);
  const envelope = readEnvelope(fields);
  return fields.takeProblem() === null ? envelope : null;
}

const clauseOf: Readonly<Record<CborRule, string>> = {
  "not-well-formed": "FP-3.1",
  "longer-form": "FP-3.4",
  "indefinite-length": "FP-3.5",
  "key-order": "FP-3.6",
  "duplicate-key": "FP-3.7",
  "text-not-utf8": "FP-3.8",
  "too-deep": "FP-3.9",
};

const unreadable = (
  { clause, reason }: { readonly clause: string; readonly reason: string },
  envelope: Envelope | null,
): Unreadable => ({ kind: "unreadable", clause, reason, envelope });
