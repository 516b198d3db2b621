import type { UnitSerial } from "../domain/ids.ts";
import { dayBounds, daysTouched, type ZoneName } from "../domain/time/local-day.ts";
import { after, type Instant, instant, milliseconds, millisecondsIn, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { loanTimesOfUnit } from "../store/unit-assessments.ts";

/** What a person's cushion did in four weeks says how it is now; what it did under somebody else says little. */
const longest = 28 * 24 * millisecondsIn.hour;

/** A unit's clock may run a little ahead of ours: what it says happened "now" must not wait. */
const clockAhead = milliseconds(millisecondsIn.minute);

/** The loan going on, or the last one that began, cut to its last 28 days; without any, the last 28 days. */
export function assessedSpan({ db }: Pick<Services, "db">, unit: UnitSerial, now: Instant): Span {
  const last = loanTimesOfUnit(db, unit).find((loan) => loan.startedAt !== null);
  const start = Math.max(now - longest, last?.startedAt ?? 0);
  return { start: instant(start), end: after(now, clockAhead) };
}

/** Local days that tile `over`, the first and last cut to it. */
export function localDaysOf(over: Span, zone: ZoneName): Span[] {
  let start = over.start;
  return daysTouched(over, zone).map((day) => {
    // Each begins where the one before ended: midnights are dear to work out.
    const end = instant(Math.min(over.end, dayBounds(day, zone).end));
    const cut = { start, end };
    start = end;
    return cut;
  });
}
