import { addDays, daysBetween, type LocalDay, localDay, localDayOf } from "../domain/time/local-day.ts";
import { instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import type { KnownOn } from "./known-on.ts";
import type { AppContext } from "./route.ts";

const mostDays = 366;
const usualDays = 14;
const rangesOffered = [7, usualDays, 28, 92, 365];

export interface DayRange {
  readonly first: LocalDay;
  readonly last: LocalDay;
  readonly days: number;
  /** The last day there is anything to show of: today, or the day the page is known on. */
  readonly newest: LocalDay;
}

/** `?from=2026-05-03&to=2026-05-16`, a year and a day at most, or `?days=28` up to `to`; nonsense becomes the usual
 *  range, for a link is never refused. */
export function rangeAsked(services: Services, context: AppContext, known: KnownOn | null): DayRange {
  const newest = known?.day ?? localDayOf(services.clock.now(), services.zone);
  const to = localDay(context.req.query("to") ?? "");
  const last = to !== null && to < newest ? to : newest;
  const from = localDay(context.req.query("from") ?? "");
  const asked =
    from !== null && from <= last ? daysBetween(from, last) + 1 : Number(context.req.query("days"));
  const days = Number.isInteger(asked) && asked >= 1 ? Math.min(asked, mostDays) : usualDays;
  return { first: addDays(last, 1 - days), last, days, newest };
}

/** Without the days before anything was lent, which have nothing to show. */
export function sinceLent(range: DayRange, loans: readonly ClinicLoan[], services: Services): DayRange {
  const starts = loans.flatMap(({ startedAt }) => (startedAt === null ? [] : [startedAt]));
  if (starts.length === 0) return range;
  const lent = localDayOf(instant(Math.min(...starts)), services.zone);
  return { ...range, first: lent > range.first && lent <= range.last ? lent : range.first };
}

/** Where the same page shows other days. */
export function rangeLinks(path: string, { first, last, days, newest }: DayRange) {
  const to = (count: number, until: LocalDay) =>
    `${path}?${new URLSearchParams({ from: addDays(until, 1 - count), to: until })}`;
  const next = addDays(last, days);
  return {
    // Today's page goes on with the days.
    url: last === newest ? `${path}?days=${days}` : to(days, last),
    range: {
      days,
      first,
      last,
      newest,
      choices: rangesOffered.map((count) => ({ days: count, href: to(count, last) })),
    },
    earlier: to(days, addDays(first, -1)),
    later: last === newest ? null : to(days, next < newest ? next : newest),
  };
}
