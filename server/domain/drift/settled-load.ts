import type { RecordedMinute } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Instant, type Interval, instant, millisecondsIn } from "../units.ts";
import { type DayPoint, daysNeeded, driftCharts } from "./drift-chart.ts";
import type { EwmaChart } from "./ewma.ts";

/** The settled load of the person who sits there, as a share of what it was in the first week, one point a day. Gain of
 *  the grid and weight of the person make the same change: only the bench or the scales can tell them apart. */
export interface LoadChange {
  readonly points: readonly DayPoint[];
  /** Of the logarithm of the load. */
  readonly chart: EwmaChart;
  readonly leftLimitsAt: Instant | null;
  /** Share of the first week's load. */
  readonly kept: number;
  /** Change of that share a month. */
  readonly trend: Interval | null;
}

const day = 24 * millisecondsIn.hour;
/** Readings settle about 6 minutes after sitting down (Am J Occup
 *  Ther 2002 56:185) and creep on for an hour: each sit is read in the same minutes. */
const settledAfter = 6;
const readUntil = 36;
const fewestMinutes = 10;
/** A resistive textile reads 0.1 to 0.5 % more a degree; the model's own figure wins. Assumption. */
const gainPerDegree = 0.002;
const referenceDegrees = 25;
/** People weigh one or two per cent more or less from day to day (common practice, no source). */
const leastSigma = 0.015;

/** @param minutes of one baseline period, oldest first
 *  @returns null where there are too few days */
export function settledLoad(minutes: readonly RecordedMinute[]): LoadChange | null {
  const points = dailyLoads(minutes);
  if (points.length < daysNeeded) return null;
  const logs = points.map(({ at, level }) => ({ at, level: Math.log(level) }));
  const { ewma, leftLimitsAt, trend } = driftCharts(logs, leastSigma);
  const kept = Math.exp((ewma.smoothed.at(-1) ?? ewma.centre) - ewma.centre);
  const first = Math.exp(ewma.centre);
  return {
    points: points.map(({ at, level }) => ({ at, level: level / first })),
    chart: ewma,
    leftLimitsAt,
    kept,
    trend,
  };
}

/** Median over sits of what was read in the settled minutes, above what the empty seat read that day: an empty reading
 *  that has crept is no weight. */
function dailyLoads(minutes: readonly RecordedMinute[]): DayPoint[] {
  const days = new Map<number, { loaded: number[]; empty: number[] }>();
  let satSince: Instant | null = null;
  let previous: Instant | null = null;
  for (const minute of minutes) {
    if (previous !== null && minute.at - previous > 5 * millisecondsIn.minute) satSince = null;
    previous = minute.at;
    const index = Math.floor(minute.at / day);
    let today = days.get(index);
    if (!today) {
      today = { loaded: [], empty: [] };
      days.set(index, today);
    }
    if (minute.seat === "empty") {
      satSince = null;
      today.empty.push(minute.load);
      continue;
    }
    satSince ??= minute.at;
    const sat = (minute.at - satSince) / millisecondsIn.minute;
    if (sat >= settledAfter && sat < readUntil)
      today.loaded.push(minute.load / (1 + gainPerDegree * (minute.temperature - referenceDegrees)));
  }
  return [...days].flatMap(([index, { loaded, empty }]): DayPoint[] => {
    const level = (median(loaded) ?? 0) - (median(empty) ?? 0);
    return loaded.length >= fewestMinutes && level > 0 ? [{ at: instant((index + 0.5) * day), level }] : [];
  });
}
