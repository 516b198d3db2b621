import { z } from "zod";
import { type Instant, instant } from "../../server/domain/units.ts";

/** A time with its offset from UTC, "2026-11-10T14:10:00Z", to the millisecond. */
export const momentField = z.iso
  .datetime({ offset: true, error: "not a time with its offset, like 2026-11-10T14:10:00Z" })
  .transform((text): Instant => instant(Date.parse(text)));

export const momentText = (at: Instant): string => new Date(at).toISOString();
export const momentOrNull = (at: Instant | null): string | null => (at === null ? null : momentText(at));
