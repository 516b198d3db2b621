/** True time: milliseconds since 1970-01-01T00:00Z. The simulation alone knows it; a unit knows only its own clock. */
export type Moment = number;

export const second = 1_000;
export const minute = 60 * second;
export const hour = 60 * minute;
export const day = 24 * hour;

export interface LocalMinute {
  /** Days since 1970-01-01 on the local calendar. */
  readonly dayNumber: number;
  /** 0 to 1439. */
  readonly minuteOfDay: number;
  /** 1 = Monday to 7 = Sunday. */
  readonly weekday: number;
}

/** What the kitchen clock of somebody living in `zone` shows. Clock changes come from the platform's zone data. */
export function localMinute(at: Moment, zone: string): LocalMinute {
  const wall = at + zoneOffset(at, zone);
  const dayNumber = Math.floor(wall / day);
  return {
    dayNumber,
    minuteOfDay: Math.floor((wall - dayNumber * day) / minute),
    // 1970-01-01 was a Thursday.
    weekday: ((dayNumber + 3) % 7) + 1,
  };
}

/** Local time on the same calendar day as `at` minus `daysBack`. */
export function localTimeDaysAgo(
  at: Moment,
  daysBack: number,
  hours: number,
  minutes: number,
  zone: string,
): Moment {
  const noon = at - localMinute(at, zone).minuteOfDay * minute + 12 * hour - daysBack * day;
  const shift = hours * 60 + minutes - localMinute(noon, zone).minuteOfDay;
  return Math.floor((noon + shift * minute) / minute) * minute;
}

const offsets = new Map<string, Map<number, number>>();

/** Zone offsets change on quarter hours at most: one look-up a quarter hour is enough. */
function zoneOffset(at: Moment, zone: string): number {
  let known = offsets.get(zone);
  if (!known) {
    known = new Map();
    offsets.set(zone, known);
  }
  const slot = Math.floor(at / (15 * minute));
  let offset = known.get(slot);
  if (offset === undefined) {
    offset = computeOffset(slot * 15 * minute, zone);
    known.set(slot, offset);
  }
  return offset;
}

const formatters = new Map<string, Intl.DateTimeFormat>();

function computeOffset(at: Moment, zone: string): number {
  let formatter = formatters.get(zone);
  if (!formatter) {
    formatter = new Intl.DateTimeFormat("en-GB", {
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
  const part: Record<string, number> = {};
  for (const { type, value } of formatter.formatToParts(at)) part[type] = Number(value);
  const wall = Date.UTC(
    part.year ?? 1970,
    (part.month ?? 1) - 1,
    part.day ?? 1,
    part.hour ?? 0,
    part.minute ?? 0,
    part.second ?? 0,
  );
  return wall - at;
}
