import type { UnitSerial } from "../domain/ids.ts";
import { dayBounds, daysTouched, type ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { loanTimesOfUnit } from "../store/unit-assessments.ts";

/** What a person's cushion did in four weeks says how it is now; what it did under somebody else says little. */
const longest = 28 * 24 * millisecondsIn.hour;

/** The loan going on, or the last one that began, cut to its last 28 days; without any, the last 28 days. */
export function assessedSpan({ db }: Pick<Services, "db">, unit: UnitSerial, now: Instant): Span {
  const last = loanTimesOfUnit(db, unit).find((loan) => loan.startedAt !== null);
  const start = Math.max(now - longest, last?.startedAt ?? 0);
  return { start: instant(start), end: now };
}

/** Local days that tile `over`, the first and last cut to it. */
export const localDaysOf = (over: Span, zone: ZoneName): Span[] =>
  daysTouched(over, zone).map((day) => {
    const { start, end } = dayBounds(day, zone);
    return { start: instant(Math.max(start, over.start)), end: instant(Math.min(end, over.end)) };
  });
