import { count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { protocolVersion } from "./limits.ts";
import type { Envelope } from "./messages.ts";
import { isSerial } from "./topics.ts";

/** [FP-4.2] Numbers of the messages; 1 to 63 go up, 64 and more come down. */
export const messageCodes = {
  hello: 1,
  minutes: 2,
  relief: 3,
  frame: 4,
  fault: 5,
  power: 6,
  relay: 7,
  "self-test": 8,
  prompt: 9,
  notice: 10,
  result: 11,
  renewal: 12,
  receipt: 64,
  plan: 65,
  command: 66,
  certificate: 67,
} as const;

const version: IntegerField = {
  ...count(0, "version", "FP-4.1"),
  low: protocolVersion,
  high: protocolVersion,
};
const code = count(1, "message", "FP-4.2");
const unit: Field = { key: 2, name: "unit", clause: "FP-4.3" };
const boot = count(3, "boot", "FP-4.4");
const sequence = count(4, "sequence", "FP-4.5");
const uptimeSeconds = count(5, "uptimeSeconds", "FP-4.6");
const wallSeconds = count(6, "wallSeconds", "FP-4.7");

const serialProblem = "not 3 to 32 of A to Z, 0 to 9 and hyphen, beginning with a letter or digit";

/** @returns the message's code, of no worth if the reader has a problem */
export function readHeader(fields: FieldReader): number {
  fields.integer(version);
  return fields.integer(code);
}

export function refuseCode(fields: FieldReader, number: number): void {
  fields.refuse(code.clause, code.name, `${number} is no message of this direction`);
}

export function readEnvelope(fields: FieldReader): Envelope {
  const serial = fields.text(unit);
  if (!isSerial(serial)) fields.refuse(unit.clause, unit.name, serialProblem);
  return {
    unit: serial,
    boot: fields.integer(boot),
    sequence: fields.integer(sequence),
    uptimeSeconds: fields.integer(uptimeSeconds),
    wallSeconds: fields.integerOrNull(wallSeconds),
  };
}

export function writeHeader(out: FieldWriter, kind: keyof typeof messageCodes): void {
  out.integer(version, protocolVersion);
  out.integer(code, messageCodes[kind]);
}

export function writeEnvelope(out: FieldWriter, envelope: Envelope): void {
  if (!isSerial(envelope.unit)) refuseToWrite(unit, serialProblem);
  out.item(unit, envelope.unit);
  out.integer(boot, envelope.boot);
  out.integer(sequence, envelope.sequence);
  out.integer(uptimeSeconds, envelope.uptimeSeconds);
  out.integerOrNull(wallSeconds, envelope.wallSeconds);
}

/** [FP-6.3] What a message tells happened before it was written. */
export const comesLater = (happenedUptimeSeconds: number, envelope: Envelope): string | null =>
  happenedUptimeSeconds > envelope.uptimeSeconds
    ? `${happenedUptimeSeconds} is later than the message's own uptime ${envelope.uptimeSeconds}`
    : null;
