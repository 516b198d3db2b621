import type { RecordedMinute } from "../record/unit-record.ts";
import { type Instant, type Interval, millisecondsIn } from "../units.ts";
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
  /** Settled load of the first week and of late, kg as the unit tells it. */
  readonly first: number;
  readonly now: number;
  /** Change of that share a month. */
  readonly trend: Interval | null;
}

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

/** @param points one a day of one baseline period, oldest first: what `dayLoad` made of it
 *  @returns null where there are too few days */
export function settledLoad(points: readonly DayPoint[]): LoadChange | null {
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
    first,
    now: first * kept,
    trend,
  };
}

/** Median over what was read in the settled minutes of one day, above what the empty seat read that day: an empty
 *  reading that has crept is no weight.
 *  @param minutes oldest first; a sit that lasts past midnight settles anew
 *  @returns kilograms; null where too little of the day was settled */
export function dayLoad(minutes: readonly RecordedMinute[]): number | null {
  const loaded = new Float64Array(minutes.length);
  const empty = new Float64Array(minutes.length);
  let loads = 0;
  let empties = 0;
  let satSince: Instant | null = null;
  let previous: Instant | null = null;
  for (const minute of minutes) {
    if (previous !== null && minute.at - previous > 5 * millisecondsIn.minute) satSince = null;
    previous = minute.at;
    if (minute.seat === "empty") {
      satSince = null;
      empty[empties++] = minute.load;
      continue;
    }
    satSince ??= minute.at;
    const sat = (minute.at - satSince) / millisecondsIn.minute;
    if (sat >= settledAfter && sat < readUntil)
      loaded[loads++] = minute.load / (1 + gainPerDegree * (minute.temperature - referenceDegrees));
  }
  const level = middleOf(loaded.subarray(0, loads)) - middleOf(empty.subarray(0, empties));
  return loads >= fewestMinutes && level > 0 ? level : null;
}

/** 0 of none. A typed array sorts by number, and many times faster than a comparison would. */
function middleOf(values: Float64Array): number {
  values.sort();
  const middle = values.length >> 1;
  const upper = values[middle] ?? 0;
  return values.length % 2 === 1 ? upper : ((values[middle - 1] ?? 0) + upper) / 2;
}
