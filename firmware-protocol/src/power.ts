import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import {
  type ChargeEnd,
  chargeEnds,
  type Envelope,
  type Power,
  type PowerEvent,
  powerEvents,
} from "./messages.ts";

const event: ChoiceField<PowerEvent> = { key: 16, name: "event", clause: "FP-5.33", values: powerEvents };
const at = count(17, "atUptimeSeconds", "FP-5.34");
const cell: IntegerField = { key: 18, name: "cellMillivolts", clause: "FP-5.35", low: 0, high: 6000 };
const temperature: IntegerField = {
  key: 19,
  name: "temperatureDecicelsius",
  clause: "FP-5.35",
  low: -400,
  high: 1250,
};
const ended: ChoiceField<ChargeEnd> = { key: 20, name: "ended", clause: "FP-5.36", values: chargeEnds };
const step: Field = { key: 21, name: "step", clause: "FP-5.37" };
const rest: IntegerField = { key: 21, name: "step.restMillivolts", clause: "FP-5.37", low: 0, high: 6000 };
const load: IntegerField = { key: 21, name: "step.loadMillivolts", clause: "FP-5.37", low: 0, high: 6000 };
const burst: IntegerField = {
  key: 21,
  name: "step.burstMilliamperes",
  clause: "FP-5.37",
  low: 1,
  high: 5000,
};

export function readPower(envelope: Envelope, fields: FieldReader): Power {
  const power: Power = {
    kind: "power",
    ...envelope,
    event: fields.choice(event, "cut-off"),
    atUptimeSeconds: fields.integer(at),
    cellMillivolts: fields.integer(cell),
    temperatureDecicelsius: fields.integer(temperature),
    ...(fields.has(ended) && { ended: fields.choice(ended, "interrupted") }),
    ...(fields.has(step) && { step: readStep(fields) }),
  };
  for (const { field, what } of problems(power)) fields.refuse(field.clause, field.name, what);
  return power;
}

function readStep(fields: FieldReader): NonNullable<Power["step"]> {
  const parts = fields.list(step);
  if (parts.length !== 3) fields.refuse(step.clause, step.name, "not rest, load and burst");
  return {
    restMillivolts: fields.integerItem(rest, parts[0]),
    loadMillivolts: fields.integerItem(load, parts[1]),
    burstMilliamperes: fields.integerItem(burst, parts[2]),
  };
}

export function writePower(out: FieldWriter, power: Power): void {
  for (const { field, what } of problems(power)) refuseToWrite(field, what);
  out.choice(event, power.event);
  out.integer(at, power.atUptimeSeconds);
  out.integer(cell, power.cellMillivolts);
  out.integer(temperature, power.temperatureDecicelsius);
  out.optionalChoice(ended, power.ended);
  if (power.step === undefined) return;
  out.item(step, [
    checkedInteger(rest, power.step.restMillivolts),
    checkedInteger(load, power.step.loadMillivolts),
    checkedInteger(burst, power.step.burstMilliamperes),
  ]);
}

/** What no single field shows. */
function problems(power: Power): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  const later = comesLater(power.atUptimeSeconds, power);
  if (later !== null) found.push({ field: at, what: later });
  if ((power.ended !== undefined) !== (power.event === "charge-end"))
    found.push({ field: ended, what: "belongs to charge-end, and to no other event" });
  if (power.step === undefined && power.event === "voltage-step")
    found.push({ field: step, what: "missing from a voltage-step" });
  return found;
}
