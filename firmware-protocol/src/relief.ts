import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import {
  type BreakOffReason,
  breakOffReasons,
  type Envelope,
  type Relief,
  type ReliefKind,
  reliefKinds,
} from "./messages.ts";

const kind: ChoiceField<ReliefKind> = { key: 16, name: "relief", clause: "FP-5.14", values: reliefKinds };
const start = count(17, "startUptimeSeconds", "FP-5.15");
const hold: IntegerField = { key: 18, name: "holdSeconds", clause: "FP-5.16", low: 0, high: 65_535 };
const depth: IntegerField = { key: 19, name: "depthPercent", clause: "FP-5.17", low: 0, high: 100 };
const complete: Field = { key: 20, name: "complete", clause: "FP-5.18" };
const prompted: Field = { key: 21, name: "prompted", clause: "FP-5.18" };
const brokenOff: ChoiceField<BreakOffReason> = {
  key: 22,
  name: "brokenOff",
  clause: "FP-5.66",
  values: breakOffReasons,
};
const sides: Field = { key: 23, name: "sideLoadPercent", clause: "FP-5.67" };
const side: IntegerField = { ...sides, low: 0, high: 200 };

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
    ...(fields.has(brokenOff) && { brokenOff: fields.choice(brokenOff, "unknown") }),
    ...(fields.has(sides) && { sideLoadPercent: readSides(fields) }),
  };
  if (isTwoMinded(relief)) fields.refuse(brokenOff.clause, brokenOff.name, twoMinded);
  const later = comesLater(relief.startUptimeSeconds, envelope);
  if (later !== null) fields.refuse(start.clause, start.name, later);
  return relief;
}

function readSides(fields: FieldReader): { left: number; right: number } {
  const parts = fields.list(sides);
  if (parts.length !== 2) fields.refuse(sides.clause, sides.name, "not left and right");
  return { left: fields.integerItem(side, parts[0]), right: fields.integerItem(side, parts[1]) };
}

const twoMinded = "given for a relief that was complete";
const isTwoMinded = (relief: Relief): boolean => relief.complete && relief.brokenOff !== undefined;

export function writeRelief(out: FieldWriter, relief: Relief): void {
  out.choice(kind, relief.relief);
  out.integer(start, relief.startUptimeSeconds);
  out.integer(hold, relief.holdSeconds);
  out.integer(depth, relief.depthPercent);
  out.item(complete, relief.complete);
  out.item(prompted, relief.prompted);
  if (isTwoMinded(relief)) refuseToWrite(brokenOff, twoMinded);
  out.optionalChoice(brokenOff, relief.brokenOff);
  if (relief.sideLoadPercent) {
    const { left, right } = relief.sideLoadPercent;
    out.item(sides, [checkedInteger(side, left), checkedInteger(side, right)]);
  }
  const later = comesLater(relief.startUptimeSeconds, relief);
  if (later !== null) refuseToWrite(start, later);
}
