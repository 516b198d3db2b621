import type { Context } from "hono";
import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";

export type FormRead<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly problems: Problems; readonly typed: Typed };

/** Reads the form of a POST. A box left blank counts as missing, so `.optional()` means what a person expects; a
 *  name that comes more than once becomes a list. Bad input gets a sentence for each field and loses nothing. */
export async function readForm<Schema extends z.ZodType>(
  context: Context,
  schema: Schema,
): Promise<FormRead<z.output<Schema>>> {
  return readTyped(typedIn(await context.req.formData()), schema);
}

/** The same for a query string, for filters and pages of a list. */
export const readQuery = <Schema extends z.ZodType>(
  context: Context,
  schema: Schema,
): FormRead<z.output<Schema>> => readTyped(typedIn(new URL(context.req.url).searchParams), schema);

function readTyped<Schema extends z.ZodType>(typed: Typed, schema: Schema): FormRead<z.output<Schema>> {
  const filled = Object.fromEntries(Object.entries(typed).filter(([, value]) => !isBlank(value)));
  const read = schema.safeParse(filled, { error: plainSentence });
  if (read.success) return { ok: true, value: read.data };
  const problems: Record<string, string> = {};
  for (const issue of read.error.issues) problems[String(issue.path[0] ?? "form")] ??= issue.message;
  return { ok: false, problems, typed: withoutSecrets(typed) };
}

/** For a set of checkboxes: none ticked is an empty list, one ticked is a list of one. */
export const ticked = <Item extends z.ZodType>(item: Item) =>
  z.preprocess((value) => (value === undefined ? [] : Array.isArray(value) ? value : [value]), z.array(item));

function typedIn(pairs: Iterable<[string, unknown]>): Typed {
  // A map, not an object: a box named `constructor` must find nothing there.
  const typed = new Map<string, string[]>();
  for (const [name, value] of pairs) {
    // Files are not taken by any form here.
    if (typeof value !== "string" || name === "csrf") continue;
    typed.set(name, [...(typed.get(name) ?? []), value]);
  }
  return Object.fromEntries(
    [...typed].map(([name, values]) => [name, values.length === 1 ? (values[0] ?? "") : values]),
  );
}

const isBlank = (value: string | readonly string[]): boolean =>
  typeof value === "string" && value.trim() === "";

const withoutSecrets = (typed: Typed): Typed =>
  Object.fromEntries(Object.entries(typed).filter(([name]) => !/password/i.test(name)));

/** Sentences for what a schema leaves to us; its own messages come first. */
const plainSentence: z.core.$ZodErrorMap = (issue) => {
  if (issue.input === undefined) return "This is needed.";
  switch (issue.code) {
    case "invalid_type":
      return issue.expected === "number" || issue.expected === "int" ? "Enter a number." : "This is needed.";
    case "too_small":
      return issue.origin === "string"
        ? `Use at least ${issue.minimum} characters.`
        : `Enter ${issue.minimum} or more.`;
    case "too_big":
      return issue.origin === "string"
        ? `Use at most ${issue.maximum} characters.`
        : `Enter ${issue.maximum} or less.`;
    case "invalid_value":
      return "Choose one of those listed.";
    default:
      return undefined;
  }
};
