import { derProblem } from "./der.ts";
import type { Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import type { Envelope, Renewal } from "./messages.ts";

const request: Field = { key: 16, name: "request", clause: "FP-5.59" };
const command: Field = { key: 17, name: "command", clause: "FP-5.60" };

export function readRenewal(envelope: Envelope, fields: FieldReader): Renewal {
  const renewal: Renewal = {
    kind: "renewal",
    ...envelope,
    request: fields.bytes(request),
    ...(fields.has(command) && { command: fields.label(command) }),
  };
  const wrong = derProblem(renewal.request);
  if (wrong !== null) fields.refuse(request.clause, request.name, wrong);
  return renewal;
}

export function writeRenewal(out: FieldWriter, renewal: Renewal): void {
  const wrong = derProblem(renewal.request);
  if (wrong !== null) refuseToWrite(request, wrong);
  out.item(request, renewal.request);
  out.optionalLabel(command, renewal.command);
}
