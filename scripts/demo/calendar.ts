import { day, localTimeDaysAgo, type Moment } from "../simulated-cushions/wall-clock.ts";

/** Places the programme's story on real dates: everything is told in days before the demo is ready. */
export interface Calendar {
  readonly zone: string;
  readonly startsAt: Moment;
  readonly readyAt: Moment;
  /** The clock on the wall at `hours:minutes`, so many days before the day of being ready. */
  daysAgo(days: number, hours: number, minutes: number): Moment;
}

const firstMorningHour = 8;

export function calendarOf(readyAt: Moment, days: number, zone: string): Calendar {
  const daysAgo = (back: number, hours: number, minutes: number): Moment =>
    localTimeDaysAgo(readyAt, back, hours, minutes, zone);
  const firstMorning = daysAgo(days, firstMorningHour, 0);
  // Shortly after midnight "a day ago at eight" is less than a day ago: the story still starts in time.
  return { zone, readyAt, daysAgo, startsAt: Math.min(firstMorning, readyAt - (days * day) / 2) };
}
