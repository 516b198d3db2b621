import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { messageNameField, messageNameItem, readMessageName } from "./message-name.ts";
import { type Envelope, type Hello, type ResetReason, resetReasons } from "./messages.ts";

const firmware: Field = { key: 16, name: "firmware", clause: "FP-5.1" };
const hardware: Field = { key: 17, name: "hardware", clause: "FP-5.1" };
const reset: ChoiceField<ResetReason> = { key: 18, name: "reset", clause: "FP-5.2", values: resetReasons };
const rows: IntegerField = { key: 19, name: "rows", clause: "FP-5.3", low: 2, high: 64 };
const columns: IntegerField = { key: 20, name: "columns", clause: "FP-5.3", low: 2, high: 64 };
const pitch: IntegerField = { key: 21, name: "pitchMillimetres", clause: "FP-5.4", low: 1, high: 100 };
const queued = count(22, "queued", "FP-5.5");
const oldest = messageNameField(23, "oldestUnsent", "FP-5.61");
const capacity: IntegerField = { ...count(24, "storeCapacityMessages", "FP-5.62"), low: 1 };
const certificateEnd = count(25, "certificateNotAfter", "FP-5.63");
const relay: Field = { key: 26, name: "relay", clause: "FP-5.64" };

export function readHello(envelope: Envelope, fields: FieldReader): Hello {
  const hello: Hello = {
    kind: "hello",
    ...envelope,
    firmware: fields.label(firmware),
    hardware: fields.label(hardware),
    reset: fields.choice(reset, "unknown"),
    rows: fields.integer(rows),
    columns: fields.integer(columns),
    pitchMillimetres: fields.integer(pitch),
    queued: fields.integer(queued),
    ...(fields.has(oldest.whole) && { oldestUnsent: readMessageName(fields, oldest) }),
    ...(fields.has(capacity) && { storeCapacityMessages: fields.integer(capacity) }),
    ...(fields.has(certificateEnd) && { certificateNotAfter: fields.integer(certificateEnd) }),
    ...(fields.has(relay) && { relay: fields.label(relay) }),
  };
  const wrong = oldestProblem(hello);
  if (wrong !== null) fields.refuse(oldest.whole.clause, oldest.whole.name, wrong);
  return hello;
}

export function writeHello(out: FieldWriter, hello: Hello): void {
  out.label(firmware, hello.firmware);
  out.label(hardware, hello.hardware);
  out.choice(reset, hello.reset);
  out.integer(rows, hello.rows);
  out.integer(columns, hello.columns);
  out.integer(pitch, hello.pitchMillimetres);
  out.integer(queued, hello.queued);
  const wrong = oldestProblem(hello);
  if (wrong !== null) refuseToWrite(oldest.whole, wrong);
  if (hello.oldestUnsent) out.item(oldest.whole, messageNameItem(oldest, hello.oldestUnsent));
  out.optionalInteger(capacity, hello.storeCapacityMessages);
  out.optionalInteger(certificateEnd, hello.certificateNotAfter);
  out.optionalLabel(relay, hello.relay);
}

function oldestProblem({ boot, sequence, oldestUnsent }: Hello): string | null {
  if (oldestUnsent === undefined) return null;
  const after = oldestUnsent.boot > boot || (oldestUnsent.boot === boot && oldestUnsent.sequence > sequence);
  return after ? "newer than this message itself" : null;
}
