import { describe, expect, it } from "vitest";
import {
  addDays,
  dayBounds,
  daysBetween,
  daysTouched,
  instantAt,
  isoWeekday,
  type LocalDay,
  localDay,
  localDayOf,
  localTimeOf,
  type ZoneName,
  zoneName,
} from "../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../server/domain/units.ts";

const zone = (name: string): ZoneName => {
  const known = zoneName(name);
  if (!known) throw new Error(name);
  return known;
};
const day = (text: string): LocalDay => {
  const known = localDay(text);
  if (!known) throw new Error(text);
  return known;
};
const utc = (text: string): Instant => instant(Date.parse(text));

// Source: IANA tz database, read with Python's zoneinfo on Debian's tzdata.
const dayLengths = [
  ["Europe/London", "2026-03-29", "2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", 23],
  ["Europe/London", "2026-10-25", "2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", 25],
  ["Europe/London", "2026-06-01", "2026-05-31T23:00:00Z", "2026-06-01T23:00:00Z", 24],
  ["America/New_York", "2026-03-08", "2026-03-08T05:00:00Z", "2026-03-09T04:00:00Z", 23],
  ["America/New_York", "2026-11-01", "2026-11-01T04:00:00Z", "2026-11-02T05:00:00Z", 25],
  ["Australia/Lord_Howe", "2026-04-05", "2026-04-04T13:00:00Z", "2026-04-05T13:30:00Z", 24.5],
  ["Australia/Lord_Howe", "2026-10-04", "2026-10-03T13:30:00Z", "2026-10-04T13:00:00Z", 23.5],
] as const;

// Same source: the wall clock just before each change, and just after it.
const transitions = [
  ["Europe/London", "2026-03-29T01:00:00Z", "2026-03-29 00:59:59", "2026-03-29 02:00:00"],
  ["Europe/London", "2026-10-25T01:00:00Z", "2026-10-25 01:59:59", "2026-10-25 01:00:00"],
  ["Europe/Berlin", "2026-03-29T01:00:00Z", "2026-03-29 01:59:59", "2026-03-29 03:00:00"],
  ["Europe/Berlin", "2026-10-25T01:00:00Z", "2026-10-25 02:59:59", "2026-10-25 02:00:00"],
  ["America/New_York", "2026-03-08T07:00:00Z", "2026-03-08 01:59:59", "2026-03-08 03:00:00"],
  ["America/New_York", "2026-11-01T06:00:00Z", "2026-11-01 01:59:59", "2026-11-01 01:00:00"],
  ["Australia/Lord_Howe", "2026-04-04T15:00:00Z", "2026-04-05 01:59:59", "2026-04-05 01:30:00"],
  ["Australia/Lord_Howe", "2026-10-03T15:30:00Z", "2026-10-04 01:59:59", "2026-10-04 02:30:00"],
  ["Pacific/Chatham", "2026-04-04T14:00:00Z", "2026-04-05 03:44:59", "2026-04-05 02:45:00"],
  ["Pacific/Chatham", "2026-09-26T14:00:00Z", "2026-09-27 02:44:59", "2026-09-27 03:45:00"],
] as const;

const wallClock = (at: Instant, name: string): string => {
  const { day: date, hour, minute, second } = localTimeOf(at, zone(name));
  return `${date} ${[hour, minute, second].map((part) => String(part).padStart(2, "0")).join(":")}`;
};

describe("a local day", () => {
  it.each(dayLengths)("in %s on %s runs from midnight to midnight", (name, date, start, end, hours) => {
    const bounds = dayBounds(day(date), zone(name));
    expect(bounds).toEqual({ start: utc(start), end: utc(end) });
    expect((bounds.end - bounds.start) / 3_600_000).toBe(hours);
  });

  it.each(transitions)("in %s jumps at %s", (name, at, before, after) => {
    expect(wallClock(instant(utc(at) - 1_000), name)).toBe(before);
    expect(wallClock(utc(at), name)).toBe(after);
  });

  it("takes the first of a time shown twice", () => {
    // Source: RFC 5545 section 3.3.5.
    expect(instantAt(day("2026-10-25"), 1, 30, zone("Europe/London"))).toBe(utc("2026-10-25T00:30:00Z"));
    expect(instantAt(day("2026-11-01"), 1, 30, zone("America/New_York"))).toBe(utc("2026-11-01T05:30:00Z"));
    expect(instantAt(day("2026-06-01"), 9, 0, zone("Europe/London"))).toBe(utc("2026-06-01T08:00:00Z"));
  });

  it("resolves a time the clocks skip to the instant they jump to", () => {
    expect(instantAt(day("2026-03-29"), 1, 30, zone("Europe/London"))).toBe(utc("2026-03-29T01:00:00Z"));
    expect(instantAt(day("2026-10-04"), 2, 15, zone("Australia/Lord_Howe"))).toBe(
      utc("2026-10-03T15:30:00Z"),
    );
  });

  it("follows the next without a gap or an overlap for a year, in every zone above", () => {
    for (const name of new Set(transitions.map(([name]) => name))) {
      let date = day("2026-01-01");
      for (let count = 0; count < 366; count += 1) {
        const { start, end } = dayBounds(date, zone(name));
        expect(dayBounds(addDays(date, 1), zone(name)).start).toBe(end);
        expect(localDayOf(start, zone(name))).toBe(date);
        expect(localDayOf(instant(end - 1), zone(name))).toBe(date);
        expect(daysTouched({ start, end }, zone(name))).toEqual([date]);
        date = addDays(date, 1);
      }
    }
  });

  it("is what a clock on the wall shows, in every zone the platform knows", () => {
    // Source: the platform's own IANA data (Intl), from 2012 on: before, a few zones set their clocks back over midnight.
    const from = Date.UTC(2012, 0, 1);
    const zones = Intl.supportedValuesOf("timeZone");
    for (const [number, name] of zones.entries())
      for (let step = 0; step < 24; step += 1) {
        const at = instant(from + (number * 7_919 + step * 83_243) * 7_777_777);
        expect(`${name} ${localDayOf(at, zone(name))}`).toBe(`${name} ${localTimeOf(at, zone(name)).day}`);
      }
  });

  it("counts days and weekdays as ISO 8601 does", () => {
    // Source: ISO 8601 week dates, as Python's date.isocalendar gives them.
    const weekdays = [
      ["2026-01-01", 4],
      ["2025-12-29", 1],
      ["2027-01-03", 7],
      ["2020-12-31", 4],
      ["2016-01-03", 7],
      ["2026-11-25", 3],
    ] as const;
    for (const [date, weekday] of weekdays) expect(isoWeekday(day(date))).toBe(weekday);
    expect(addDays(day("2024-02-28"), 2)).toBe("2024-03-01");
    expect(daysBetween(day("2025-12-29"), day("2026-11-25"))).toBe(331);
    expect(localDay("2026-02-29")).toBeNull();
  });
});
