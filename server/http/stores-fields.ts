import { z } from "zod";
import { instantAt, localDay, type ZoneName } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";

/** One line of text, trimmed. */
export const lineField = (longest: number) => z.string().trim().min(1, "This is needed.").max(longest);

/** What `<input type="date">` sends. */
export const dayField = z.string().transform((text, context) => {
  const day = localDay(text.trim());
  if (day !== null) return day;
  context.addIssue({ code: "custom", message: "Enter a day as year-month-day, like 2026-05-03." });
  return z.NEVER;
});

/** What `<input type="datetime-local">` sends, read on the wall clock of the programme. */
export const momentField = (zone: ZoneName) =>
  z.string().transform((text, context): Instant => {
    const parts = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}):(\d{2})/.exec(text.trim());
    const day = parts ? localDay(parts[1] ?? "") : null;
    const hour = Number(parts?.[2]);
    const minute = Number(parts?.[3]);
    if (day !== null && hour < 24 && minute < 60) return instantAt(day, hour, minute, zone);
    context.addIssue({ code: "custom", message: "Enter a day and time, like 2026-05-03 14:10." });
    return z.NEVER;
  });

/** A whole number within bounds, both sayable. */
export const wholeField = (low: number, high: number) =>
  z.coerce.number().int("Enter a whole number.").min(low).max(high);

/** Centimetres on the form, to half a centimetre; whole millimetres in the record. */
export const centimetreField = (low: number, high: number) =>
  z.coerce
    .number()
    .min(low)
    .max(high)
    .transform((value) => Math.round(value * 10));

/** Pages of a list, from 1. Nonsense is the first page: a list is never refused. */
export const pageField = z.coerce.number().int().min(1).max(100_000).catch(1).default(1);
