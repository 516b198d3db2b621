import { dayBounds, type LocalDay, localDay, localDayOf } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { AppContext } from "./route.ts";

export interface KnownOn {
  readonly day: LocalDay;
  /** End of that day: what arrived or was written from then on is left out. */
  readonly end: Instant;
}

/** `?asKnownOn=2026-11-12`: the page as it was known at the end of that day. Today, later and nonsense are now. */
export function knownOnAsked({ clock, zone }: Services, context: AppContext): KnownOn | null {
  const day = localDay(context.req.query("asKnownOn") ?? "");
  if (day === null || day >= localDayOf(clock.now(), zone)) return null;
  return { day, end: dayBounds(day, zone).end };
}
