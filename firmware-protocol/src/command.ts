import { type Command, type CommandAction, commandActions } from "./downlink.ts";
import { type ChoiceField, count, type Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";

const id: Field = { key: 16, name: "id", clause: "FP-7.10" };
const expires = count(17, "expiresUnixSeconds", "FP-7.11");
const action: ChoiceField<CommandAction> = {
  key: 18,
  name: "action",
  clause: "FP-7.12",
  values: commandActions,
};
const plan = count(19, "planVersion", "FP-7.13");

export function readCommand(fields: FieldReader): Command {
  const command: Command = {
    kind: "command",
    id: fields.label(id),
    expiresUnixSeconds: fields.integer(expires),
    action: fields.choice(action, "report"),
    ...(fields.has(plan) && { planVersion: fields.integer(plan) }),
  };
  if (isMisplaced(command)) fields.refuse(plan.clause, plan.name, misplaced);
  return command;
}

export function writeCommand(out: FieldWriter, command: Command): void {
  if (isMisplaced(command)) refuseToWrite(plan, misplaced);
  out.label(id, command.id);
  out.integer(expires, command.expiresUnixSeconds);
  out.choice(action, command.action);
  out.optionalInteger(plan, command.planVersion);
}

const misplaced = "belongs to plan, and to no other action";
const isMisplaced = ({ action: asked, planVersion }: Command): boolean =>
  (planVersion !== undefined) !== (asked === "plan");
