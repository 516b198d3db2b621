import { z } from "zod";
import { reliefKinds } from "../../server/domain/record/unit-record.ts";
import { type ZoneName, zoneName } from "../../server/domain/time/local-day.ts";
import { kilograms, milliampHours, millimetres, minutes, seconds } from "../../server/domain/units.ts";
import { momentField } from "./moment.ts";
import { type Problem, problemsOf, sentenceOf } from "./problem.ts";

export const manifestFile = "manifest.json";

const word = z.string().trim().min(1, "empty");
const above = z.number().positive();

const forms = {
  models: z.strictObject({
    id: word,
    widthMillimetres: above.transform(millimetres),
    depthMillimetres: above.transform(millimetres),
    rows: z.int().min(2).max(64),
    columns: z.int().min(2).max(64),
    pitchMillimetres: above.transform(millimetres),
    ratedMilliampHours: above.transform(milliampHours),
    weightLimitKilograms: above.transform(kilograms),
    drawMilliamperes: z
      .strictObject({
        loaded: above.exactOptional(),
        empty: above.exactOptional(),
        searching: above.exactOptional(),
      })
      .nullable()
      .default(null),
  }),
  units: z.strictObject({ serial: word, model: word, lot: word.default("LOT") }),
  people: z.strictObject({
    id: word,
    area: word.default(""),
    weightKilograms: above.default(70).transform(kilograms),
  }),
  loans: z.strictObject({
    id: word,
    unit: word,
    person: word,
    startedAt: momentField,
    endedAt: momentField.nullable().default(null),
    follows: word.nullable().default(null),
  }),
  plans: z.strictObject({
    person: word,
    version: z.int().min(1),
    validFrom: momentField,
    setAt: momentField.exactOptional(),
    intervalMinutes: above.transform(minutes),
    holdSeconds: above.transform(seconds),
    kinds: z.array(z.enum(reliefKinds)).min(1),
  }),
  notes: z.strictObject({
    loan: word,
    kind: z.enum(["hospital", "holiday", "new-chair", "washed-cover", "visit", "call", "other"]),
    from: momentField,
    until: momentField.nullable().default(null),
    text: z.string().default(""),
    writtenAt: momentField.exactOptional(),
  }),
  visits: z.strictObject({
    loan: word,
    at: momentField,
    status: z.enum(["done", "no-access", "cancelled", "planned"]),
  }),
  certificates: z.strictObject({
    loan: word,
    issuedAt: momentField,
    expiresAt: momentField,
    revokedAt: momentField.nullable().default(null),
  }),
};
type Forms = typeof forms;
type Name = keyof Forms;

export type CaseEntries = { readonly [Key in Name]: readonly z.output<Forms[Key]>[] };
export interface Manifest extends CaseEntries {
  readonly zone: ZoneName;
  /** Until when the case is told; null: to its last message. */
  readonly until: z.output<typeof momentField> | null;
  readonly reviewEveryHours: number;
}

const headForm = z.object({
  zone: z.string().transform((text, context) => {
    const zone = zoneName(text);
    if (zone === null) context.addIssue(`${text} is no time zone known here`);
    return zone ?? z.NEVER;
  }),
  until: momentField.nullable().default(null),
  reviewEveryHours: z.number().min(0.25).max(24).default(6),
});

/** @returns null where nothing can be told at all: no JSON, no zone */
export function readManifest(text: string): { manifest: Manifest | null; problems: Problem[] } {
  const whole = (field: string, problem: string): Problem => ({
    file: manifestFile,
    line: null,
    field,
    problem,
  });
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (thrown) {
    return { manifest: null, problems: [whole("", `not JSON: ${sentenceOf(thrown)}`)] };
  }
  const head = headForm.safeParse(json);
  if (!head.success) {
    const place = { file: manifestFile, line: null, base: "" };
    return { manifest: null, problems: problemsOf(head.error, place) };
  }
  const fields = z.record(z.string(), z.unknown()).parse(json);
  const problems = Object.keys(fields)
    .filter((name) => !(name in forms) && !(name in headForm.shape) && name !== "about")
    .map((name) => whole(name, "no such part of a manifest"));
  const entries = <Entry>(key: Name, form: z.ZodType<Entry>) => entriesOf(key, form, fields[key], problems);
  const manifest: Manifest = {
    ...head.data,
    models: entries("models", forms.models),
    units: entries("units", forms.units),
    people: entries("people", forms.people),
    loans: entries("loans", forms.loans),
    plans: entries("plans", forms.plans),
    notes: entries("notes", forms.notes),
    visits: entries("visits", forms.visits),
    certificates: entries("certificates", forms.certificates),
  };
  return { manifest, problems };
}

function entriesOf<Entry>(key: Name, form: z.ZodType<Entry>, value: unknown, problems: Problem[]): Entry[] {
  if (value === undefined) return [];
  if (!Array.isArray(value)) {
    problems.push({ file: manifestFile, line: null, field: key, problem: "not a list" });
    return [];
  }
  const list: Entry[] = [];
  for (const [index, entry] of value.entries()) {
    const read = form.safeParse(entry);
    const place = { file: manifestFile, line: null, base: `${key}[${index}]` };
    if (read.success) list.push(read.data);
    else problems.push(...problemsOf(read.error, place));
  }
  return list;
}
