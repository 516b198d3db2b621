import { type LocalDay, localTimeOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { type Instant, millisecondsIn, type Probability } from "../../server/domain/units.ts";

const months = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
];

/** "3 May 2026": no order of day and month that two countries read differently. */
export function dayWords(day: LocalDay): string {
  const month = months[Number(day.slice(5, 7)) - 1] ?? "";
  return `${Number(day.slice(8, 10))} ${month} ${Number(day.slice(0, 4))}`;
}

const twoDigits = (value: number): string => String(value).padStart(2, "0");

/** "14:10", as the wall clock of the zone showed. */
export function timeWords(at: Instant, zone: ZoneName): string {
  const { hour, minute } = localTimeOf(at, zone);
  return `${twoDigits(hour)}:${twoDigits(minute)}`;
}

/** "3 May 2026, 14:10". */
export const dateTimeWords = (at: Instant, zone: ZoneName): string =>
  `${dayWords(localTimeOf(at, zone).day)}, ${timeWords(at, zone)}`;

/** "2 h 30 min", "45 min", "3 days 4 h"; whole minutes, rounded down, so that nothing is said to have lasted longer
 *  than it did. */
export function durationWords(lasted: number): string {
  const minutes = Math.floor(lasted / millisecondsIn.minute);
  if (minutes < 1) return "less than a minute";
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return joined(`${hours} h`, minutes % 60, "min");
  return joined(`${Math.floor(hours / 24)} days`, hours % 24, "h");
}

/** "81 h 20 min": time added up from many stretches, which days would blur. Whole minutes, rounded down. */
export function hoursWords(lasted: number): string {
  const minutes = Math.floor(lasted / millisecondsIn.minute);
  if (minutes === 0) return "none";
  return minutes < 60 ? `${minutes} min` : joined(`${Math.floor(minutes / 60)} h`, minutes % 60, "min");
}

const joined = (first: string, rest: number, unit: string): string =>
  rest === 0 ? first : `${first} ${rest} ${unit}`;

/** "12 min ago", "in 3 h", "just now": the coarsest unit that still tells, because a list is scanned. */
export function agoWords(from: Instant, now: Instant): string {
  const distance = Math.abs(now - from);
  if (distance < millisecondsIn.minute) return "just now";
  const minutes = Math.floor(distance / millisecondsIn.minute);
  const hours = Math.floor(minutes / 60);
  const words =
    minutes < 60 ? `${minutes} min` : hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
  return from <= now ? `${words} ago` : `in ${words}`;
}

/** From this share up "almost certainly" is said; below `probablyFrom` nothing is claimed. One scale everywhere.
 *  Origin of both: our convention. */
const almostCertainlyFrom = 95;
const probablyFrom = 80;

/** "almost certainly (97 %)", "probably (81 %)", "can't tell yet (best guess 46 %)".
 *  @param settled says whether the verdict reached its own threshold; without it, 80 % is the bar.
 *  Rounded down, so that words never promise more than the number. */
export function certaintyWords(p: Probability, settled?: boolean): string {
  const percent = Math.floor(p * 100 + 1e-9);
  const shown = percent >= 100 || p > 0.99 ? "over 99\u00a0%" : `${percent}\u00a0%`;
  if (!(settled ?? percent >= probablyFrom)) return `can't tell yet (best guess ${shown})`;
  return percent >= almostCertainlyFrom ? `almost certainly (${shown})` : `probably (${shown})`;
}
