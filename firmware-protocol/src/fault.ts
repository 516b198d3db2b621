import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { type Envelope, type Fault, type FaultCode, faultCodes } from "./messages.ts";

const code: ChoiceField<FaultCode> = { key: 16, name: "fault", clause: "FP-5.23", values: faultCodes };
const at = count(17, "atUptimeSeconds", "FP-5.24");
const lost: Field = { key: 18, name: "lost", clause: "FP-5.25" };
const lostBoot = count(18, "lost.boot", "FP-5.25");
const lostFrom = count(18, "lost.fromSequence", "FP-5.25");
const lostTo = count(18, "lost.toSequence", "FP-5.25");
const value: IntegerField = {
  key: 19,
  name: "value",
  clause: "FP-5.26",
  low: -2_147_483_648,
  high: 2_147_483_647,
};

export function readFault(envelope: Envelope, fields: FieldReader): Fault {
  const fault: Fault = {
    kind: "fault",
    ...envelope,
    fault: fields.choice(code, "wet"),
    atUptimeSeconds: fields.integer(at),
    lost: readLost(fields),
    value: fields.integerOrNull(value),
  };
  for (const { field, what } of problems(fault)) fields.refuse(field.clause, field.name, what);
  return fault;
}

function readLost(fields: FieldReader): Fault["lost"] {
  const parts = fields.listOrNull(lost);
  if (parts === null) return null;
  if (parts.length !== 3) fields.refuse(lost.clause, lost.name, "not boot, first and last sequence");
  const [boot, from, to] = parts;
  return {
    boot: fields.integerItem(lostBoot, boot),
    fromSequence: fields.integerItem(lostFrom, from),
    toSequence: fields.integerItem(lostTo, to),
  };
}

export function writeFault(out: FieldWriter, fault: Fault): void {
  out.choice(code, fault.fault);
  out.integer(at, fault.atUptimeSeconds);
  out.item(
    lost,
    fault.lost && [
      checkedInteger(lostBoot, fault.lost.boot),
      checkedInteger(lostFrom, fault.lost.fromSequence),
      checkedInteger(lostTo, fault.lost.toSequence),
    ],
  );
  out.integerOrNull(value, fault.value);
  for (const { field, what } of problems(fault)) refuseToWrite(field, what);
}

/** What no single field shows. */
function problems(fault: Fault): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  const later = comesLater(fault.atUptimeSeconds, fault);
  if (later !== null) found.push({ field: at, what: later });
  if ((fault.lost !== null) !== (fault.fault === "store-overrun"))
    found.push({ field: lost, what: "belongs to store-overrun, and to no other fault" });
  if (fault.lost !== null && fault.lost.fromSequence > fault.lost.toSequence)
    found.push({ field: lost, what: "first sequence after the last" });
  return found;
}
