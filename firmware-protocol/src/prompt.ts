import { comesLater } from "./envelope.ts";
import { count, type Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import type { Envelope, Prompt } from "./messages.ts";

const given = count(16, "givenUptimeSeconds", "FP-5.49");
const plan = count(17, "planVersion", "FP-5.50");
const followedBy = count(18, "followedBySequence", "FP-5.51");

export function readPrompt(envelope: Envelope, fields: FieldReader): Prompt {
  const prompt: Prompt = {
    kind: "prompt",
    ...envelope,
    givenUptimeSeconds: fields.integer(given),
    planVersion: fields.integer(plan),
    followedBySequence: fields.integerOrNull(followedBy),
  };
  for (const { field, what } of problems(prompt)) fields.refuse(field.clause, field.name, what);
  return prompt;
}

export function writePrompt(out: FieldWriter, prompt: Prompt): void {
  out.integer(given, prompt.givenUptimeSeconds);
  out.integer(plan, prompt.planVersion);
  out.integerOrNull(followedBy, prompt.followedBySequence);
  for (const { field, what } of problems(prompt)) refuseToWrite(field, what);
}

/** What no single field shows. */
function problems(prompt: Prompt): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  const later = comesLater(prompt.givenUptimeSeconds, prompt);
  if (later !== null) found.push({ field: given, what: later });
  if (prompt.followedBySequence !== null && prompt.followedBySequence >= prompt.sequence)
    found.push({ field: followedBy, what: "no message before this one" });
  return found;
}
