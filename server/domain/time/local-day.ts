import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";

declare const brand: unique symbol;
/** A calendar day, `2026-05-03`, in the programme's zone. */
export type LocalDay = string & { readonly [brand]: "LocalDay" };
/** An IANA zone name that the platform knows, e.g. `Europe/London`. */
export type ZoneName = string & { readonly [brand]: "ZoneName" };

/** @throws never; returns null for a name the platform's zone data doesn't hold. */
export function zoneName(text: string): ZoneName | null {
  try {
    formatterFor(text);
    return text as ZoneName;
  } catch {
    return null;
  }
}

export function localDay(text: string): LocalDay | null {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!parts) return null;
  const asUtc = daysFromCivil(Number(parts[1]), Number(parts[2]), Number(parts[3]));
  return civilFromDays(asUtc) === text ? (text as LocalDay) : null;
}

export interface LocalTime {
  readonly day: LocalDay;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
}

/** What a clock on the wall of `zone` shows at `at`. On a day of 24 hours no clock was changed, and it shows what has
 *  passed since midnight. */
export function localTimeOf(at: Instant, zone: ZoneName): LocalTime {
  const day = localDayOf(at, zone);
  const start = midnight(day, zone);
  if (midnight(addDays(day, 1), zone) - start !== 24 * millisecondsIn.hour) return shownAt(at, zone);
  const passed = at - start;
  return {
    day,
    hour: Math.floor(passed / millisecondsIn.hour),
    minute: Math.floor(passed / millisecondsIn.minute) % 60,
    second: Math.floor(passed / millisecondsIn.second) % 60,
  };
}

/** As the platform's zone data have it. */
function shownAt(at: Instant, zone: ZoneName): LocalTime {
  const part: Record<string, string> = {};
  for (const { type, value } of formatterFor(zone).formatToParts(at)) part[type] = value;
  const year = (part.year ?? "").padStart(4, "0");
  return {
    day: `${year}-${part.month}-${part.day}` as LocalDay,
    hour: Number(part.hour),
    minute: Number(part.minute),
    second: Number(part.second),
  };
}

/** The day whose midnights lie around `at`. */
export function localDayOf(at: Instant, zone: ZoneName): LocalDay {
  const days = Math.floor(at / (24 * millisecondsIn.hour));
  // No zone lies a day or more from UTC.
  for (const count of [days + 1, days, days - 1, days - 2]) {
    const day = civilFromDays(count) as LocalDay;
    if (midnight(day, zone) <= at) return day;
  }
  return shownAt(at, zone).day;
}

/** The instant at which a wall clock in `zone` shows `hour:minute` on `day`.
 *  A time the clocks skip resolves to the instant they jump to; of a time shown twice, the first is taken. */
export function instantAt(day: LocalDay, hour: number, minute: number, zone: ZoneName): Instant {
  const wall =
    epochDays(day) * 24 * millisecondsIn.hour + hour * millisecondsIn.hour + minute * millisecondsIn.minute;
  // The zone's offset lies within a day of UTC; the offsets in force a day either side cover any change between.
  const before = offsetAt(instant(wall - 24 * millisecondsIn.hour), zone);
  const afterChange = offsetAt(instant(wall + 24 * millisecondsIn.hour), zone);
  const candidates = [wall - before, wall - afterChange]
    .filter((at) => at + offsetAt(instant(at), zone) === wall)
    .sort((a, b) => a - b);
  const first = candidates[0];
  if (first !== undefined) return instant(first);
  // Skipped by the clocks: find the jump between the two readings.
  let low = wall - Math.max(before, afterChange);
  let high = wall - Math.min(before, afterChange);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (offsetAt(instant(middle), zone) === before) low = middle;
    else high = middle;
  }
  return instant(high);
}

/** Midnight to midnight: 23, 24 or 25 hours long (or off by the half hour some zones use). */
export function dayBounds(day: LocalDay, zone: ZoneName): Span {
  return { start: midnight(day, zone), end: midnight(addDays(day, 1), zone) };
}

/** Midnights worked out lately, for the same few days are asked for by every unit and each takes the zone's data. */
const midnights = new Map<string, Instant>();
const mostMidnights = 5_000;

/** When the day begins. */
function midnight(day: LocalDay, zone: ZoneName): Instant {
  const name = `${zone} ${day}`;
  const known = midnights.get(name);
  if (known !== undefined) return known;
  const at = instantAt(day, 0, 0, zone);
  if (midnights.size >= mostMidnights) midnights.clear();
  midnights.set(name, at);
  return at;
}

export const addDays = (day: LocalDay, count: number): LocalDay =>
  civilFromDays(epochDays(day) + count) as LocalDay;

export const daysBetween = (from: LocalDay, to: LocalDay): number => epochDays(to) - epochDays(from);

/** 1 = Monday to 7 = Sunday (ISO 8601). */
export const isoWeekday = (day: LocalDay): number => ((((epochDays(day) + 3) % 7) + 7) % 7) + 1;

/** Saturday or Sunday. */
export const isWeekend = (day: LocalDay): boolean => isoWeekday(day) >= 6;

/** Every local day that `span` touches, oldest first. */
export function daysTouched(span: Span, zone: ZoneName): LocalDay[] {
  if (span.end <= span.start) return [];
  const days: LocalDay[] = [];
  const last = localDayOf(instant(span.end - 1), zone);
  for (let day = localDayOf(span.start, zone); day <= last; day = addDays(day, 1)) days.push(day);
  return days;
}

const formatters = new Map<string, Intl.DateTimeFormat>();

function formatterFor(zone: string): Intl.DateTimeFormat {
  let formatter = formatters.get(zone);
  if (!formatter) {
    formatter = new Intl.DateTimeFormat("en-GB-u-ca-iso8601-nu-latn", {
      timeZone: zone,
      year: "numeric",
      month: "2-digit",
      day: "2-digit",
      hour: "2-digit",
      minute: "2-digit",
      second: "2-digit",
      hourCycle: "h23",
    });
    formatters.set(zone, formatter);
  }
  return formatter;
}

/** Wall clock minus UTC, milliseconds. */
function offsetAt(at: Instant, zone: ZoneName): number {
  const wall = shownAt(at, zone);
  const shown =
    epochDays(wall.day) * 24 * millisecondsIn.hour +
    wall.hour * millisecondsIn.hour +
    wall.minute * millisecondsIn.minute +
    wall.second * millisecondsIn.second;
  return shown - Math.floor(at / millisecondsIn.second) * millisecondsIn.second;
}

function epochDays(day: LocalDay): number {
  return daysFromCivil(Number(day.slice(0, 4)), Number(day.slice(5, 7)), Number(day.slice(8, 10)));
}

/** Days since 1970-01-01 in the proleptic Gregorian calendar. Years are counted from March so that the leap day
 *  comes last. */
function daysFromCivil(year: number, month: number, day: number): number {
  const shiftedYear = month <= 2 ? year - 1 : year;
  const era = Math.floor(shiftedYear / 400);
  const yearOfEra = shiftedYear - era * 400;
  const dayOfYear = Math.floor((153 * (month > 2 ? month - 3 : month + 9) + 2) / 5) + day - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}

function civilFromDays(days: number): string {
  const shifted = days + 719_468;
  const era = Math.floor(shifted / 146_097);
  const dayOfEra = shifted - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra -
      Math.floor(dayOfEra / 1_460) +
      Math.floor(dayOfEra / 36_524) -
      Math.floor(dayOfEra / 146_096)) /
      365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const monthFromMarch = Math.floor((5 * dayOfYear + 2) / 153);
  const day = dayOfYear - Math.floor((153 * monthFromMarch + 2) / 5) + 1;
  const month = monthFromMarch < 10 ? monthFromMarch + 3 : monthFromMarch - 9;
  const year = yearOfEra + era * 400 + (month <= 2 ? 1 : 0);
  return `${String(year).padStart(4, "0")}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}`;
}
