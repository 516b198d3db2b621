import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import {
  type Envelope,
  type RefusalReason,
  type Result,
  type ResultState,
  refusalReasons,
  resultStates,
} from "./messages.ts";

const command: Field = { key: 16, name: "command", clause: "FP-5.54" };
const state: ChoiceField<ResultState> = { key: 17, name: "state", clause: "FP-5.55", values: resultStates };
const reason: ChoiceField<RefusalReason> = {
  key: 18,
  name: "reason",
  clause: "FP-5.56",
  values: refusalReasons,
};
const at = count(19, "atUptimeSeconds", "FP-5.58");
const detail: Field = { key: 20, name: "detail", clause: "FP-5.57" };

export function readResult(envelope: Envelope, fields: FieldReader): Result {
  const result: Result = {
    kind: "result",
    ...envelope,
    command: fields.label(command),
    state: fields.choice(state, "refused"),
    reason: fields.choiceOrNull(reason, "failed"),
    atUptimeSeconds: fields.integer(at),
    ...(fields.has(detail) && { detail: fields.label(detail) }),
  };
  for (const { field, what } of problems(result)) fields.refuse(field.clause, field.name, what);
  return result;
}

export function writeResult(out: FieldWriter, result: Result): void {
  out.label(command, result.command);
  out.choice(state, result.state);
  out.choiceOrNull(reason, result.reason);
  out.integer(at, result.atUptimeSeconds);
  out.optionalLabel(detail, result.detail);
  for (const { field, what } of problems(result)) refuseToWrite(field, what);
}

/** What no single field shows. */
function problems(result: Result): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  if ((result.reason !== null) !== (result.state === "refused"))
    found.push({ field: reason, what: "belongs to refused, and to no other state" });
  const later = comesLater(result.atUptimeSeconds, result);
  if (later !== null) found.push({ field: at, what: later });
  return found;
}
