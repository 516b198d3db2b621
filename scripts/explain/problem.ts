import type { z } from "zod";

/** Something of a case that could not be used, and where it stands. What is not listed was used. */
export interface Problem {
  readonly file: string;
  /** Counted from 1; null where the whole file or an entry of the manifest is meant. */
  readonly line: number | null;
  /** Path to the field, `loans[2].unit`; empty where the whole entry is meant. */
  readonly field: string;
  readonly problem: string;
}

/** A wrong entry as problems, one a field.
 *  @param base where the entry stands: `loans[2]` */
export function problemsOf(error: z.ZodError, place: { file: string; line: number | null; base: string }) {
  return error.issues.map(
    ({ path, message }): Problem => ({
      file: place.file,
      line: place.line,
      field: pathText(place.base, path),
      problem: message,
    }),
  );
}

function pathText(base: string, path: readonly PropertyKey[]): string {
  return path.reduce<string>((text, step) => {
    if (typeof step === "number") return `${text}[${step}]`;
    return text === "" ? String(step) : `${text}.${String(step)}`;
  }, base);
}

export const sentenceOf = (thrown: unknown): string =>
  thrown instanceof Error ? thrown.message : String(thrown);
