import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { type Envelope, type Relief, type ReliefKind, reliefKinds } from "./messages.ts";

const kind: ChoiceField<ReliefKind> = { key: 16, name: "relief", clause: "FP-5.14", values: reliefKinds };
const start = count(17, "startUptimeSeconds", "FP-5.15");
const hold: IntegerField = { key: 18, name: "holdSeconds", clause: "FP-5.16", low: 0, high: 65_535 };
const depth: IntegerField = { key: 19, name: "depthPercent", clause: "FP-5.17", low: 0, high: 100 };
const complete: Field = { key: 20, name: "complete", clause: "FP-5.18" };
const prompted: Field = { key: 21, name: "prompted", clause: "FP-5.18" };

export function readRelief(envelope: Envelope, fields: FieldReader): Relief {
  const relief: Relief = {
    kind: "relief",
    ...envelope,
    relief: fields.choice(kind, "lift"),
    startUptimeSeconds: fields.integer(start),
    holdSeconds: fields.integer(hold),
    depthPercent: fields.integer(depth),
    complete: fields.flag(complete),
    prompted: fields.flag(prompted),
  };
  const later = comesLater(relief.startUptimeSeconds, envelope);
  if (later !== null) fields.refuse(start.clause, start.name, later);
  return relief;
}

export function writeRelief(out: FieldWriter, relief: Relief): void {
  out.choice(kind, relief.relief);
  out.integer(start, relief.startUptimeSeconds);
  out.integer(hold, relief.holdSeconds);
  out.integer(depth, relief.depthPercent);
  out.item(complete, relief.complete);
  out.item(prompted, relief.prompted);
  const later = comesLater(relief.startUptimeSeconds, relief);
  if (later !== null) refuseToWrite(start, later);
}
