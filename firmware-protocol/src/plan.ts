import type { Plan } from "./downlink.ts";
import { type ChoiceField, count, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { choiceNumber, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { type ReliefKind, reliefKinds } from "./messages.ts";

const version = count(16, "plan version", "FP-7.5");
const interval: IntegerField = { key: 17, name: "intervalMinutes", clause: "FP-7.6", low: 1, high: 1440 };
const hold: IntegerField = { key: 18, name: "holdSeconds", clause: "FP-7.6", low: 1, high: 3600 };
const kinds: ChoiceField<ReliefKind> = { key: 19, name: "kinds", clause: "FP-7.7", values: reliefKinds };

export function readPlan(fields: FieldReader): Plan {
  const plan: Plan = {
    kind: "plan",
    version: fields.integer(version),
    intervalMinutes: fields.integer(interval),
    holdSeconds: fields.integer(hold),
    kinds: fields.list(kinds).map((item) => fields.choiceItem(kinds, item, "lift")),
  };
  const wrong = kindsProblem(plan.kinds);
  if (wrong !== null) fields.refuse(kinds.clause, kinds.name, wrong);
  return plan;
}

export function writePlan(out: FieldWriter, plan: Plan): void {
  const wrong = kindsProblem(plan.kinds);
  if (wrong !== null) refuseToWrite(kinds, wrong);
  out.integer(version, plan.version);
  out.integer(interval, plan.intervalMinutes);
  out.integer(hold, plan.holdSeconds);
  out.item(
    kinds,
    plan.kinds.map((kind) => choiceNumber(kinds, kind)),
  );
}

function kindsProblem(chosen: readonly ReliefKind[]): string | null {
  if (chosen.length === 0) return "no kind of relief";
  return new Set(chosen).size === chosen.length ? null : "a kind twice";
}
