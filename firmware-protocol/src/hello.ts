import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import type { FieldWriter } from "./field-writer.ts";
import { type Envelope, type Hello, type ResetReason, resetReasons } from "./messages.ts";

const firmware: Field = { key: 16, name: "firmware", clause: "FP-5.1" };
const hardware: Field = { key: 17, name: "hardware", clause: "FP-5.1" };
const reset: ChoiceField<ResetReason> = { key: 18, name: "reset", clause: "FP-5.2", values: resetReasons };
const rows: IntegerField = { key: 19, name: "rows", clause: "FP-5.3", low: 2, high: 64 };
const columns: IntegerField = { key: 20, name: "columns", clause: "FP-5.3", low: 2, high: 64 };
const pitch: IntegerField = { key: 21, name: "pitchMillimetres", clause: "FP-5.4", low: 1, high: 100 };
const queued = count(22, "queued", "FP-5.5");

export const readHello = (envelope: Envelope, fields: FieldReader): Hello => ({
  kind: "hello",
  ...envelope,
  firmware: fields.label(firmware),
  hardware: fields.label(hardware),
  reset: fields.choice(reset, "unknown"),
  rows: fields.integer(rows),
  columns: fields.integer(columns),
  pitchMillimetres: fields.integer(pitch),
  queued: fields.integer(queued),
});

export function writeHello(out: FieldWriter, hello: Hello): void {
  out.label(firmware, hello.firmware);
  out.label(hardware, hello.hardware);
  out.choice(reset, hello.reset);
  out.integer(rows, hello.rows);
  out.integer(columns, hello.columns);
  out.integer(pitch, hello.pitchMillimetres);
  out.integer(queued, hello.queued);
}
