import { type LocalDay, localTimeOf, type ZoneName } from "../time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Probability, type Span } from "../units.ts";

const months = "January February March April May June July August September October November December".split(
  " ",
);

/** "3 May 2026". */
export const spokenDay = (day: LocalDay): string =>
  `${Number(day.slice(8, 10))} ${months[Number(day.slice(5, 7)) - 1] ?? ""} ${Number(day.slice(0, 4))}`;

/** "14:10" on the zone's wall clock. */
export function spokenTime(at: Instant, zone: ZoneName): string {
  const { hour, minute } = localTimeOf(at, zone);
  return `${String(hour).padStart(2, "0")}:${String(minute).padStart(2, "0")}`;
}

/** "14:10 on 3 May 2026". */
export const spokenMoment = (at: Instant, zone: ZoneName): string =>
  `${spokenTime(at, zone)} on ${spokenDay(localTimeOf(at, zone).day)}`;

/** "from 14:10 to 16:40 on 3 May 2026", or with both days where it runs past midnight. */
export function spokenSpan({ start, end }: Span, zone: ZoneName): string {
  const first = localTimeOf(start, zone).day;
  // A stretch that ends at midnight ends on the day it filled.
  const last = localTimeOf(instant(end - 1), zone).day;
  return first === last
    ? `from ${spokenTime(start, zone)} to ${spokenTime(end, zone)} on ${spokenDay(first)}`
    : `from ${spokenMoment(start, zone)} to ${spokenMoment(end, zone)}`;
}

/** "2 h 30 min", "45 min", "3 days 4 h". */
export function spokenLength(lasted: number): string {
  const minutes = Math.floor(lasted / millisecondsIn.minute);
  if (minutes < 1) return "less than a minute";
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return `${hours} h${minutes % 60 === 0 ? "" : ` ${minutes % 60} min`}`;
  return `${Math.floor(hours / 24)} days${hours % 24 === 0 ? "" : ` ${hours % 24} h`}`;
}

export const spokenHours = (hours: number): string => spokenLength(hours * millisecondsIn.hour);

const almostCertain = 0.95;

/** "almost certainly (97 %)", "probably (81 %)", "can't tell yet (best guess 46 %)"; rounded down, so that words never
 *  promise more than the number. */
export function spokenCertainty(p: Probability, settled: boolean): string {
  const shown = p > 0.99 ? "over 99\u00a0%" : `${Math.floor(p * 100 + 1e-9)}\u00a0%`;
  if (!settled) return `can't tell yet (best guess ${shown})`;
  return p >= almostCertain ? `almost certainly (${shown})` : `probably (${shown})`;
}

export const capitalised = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
