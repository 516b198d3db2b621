import { robustTrend } from "../statistics/robust-trend.ts";
import { type Instant, type Interval, instant, millisecondsIn } from "../units.ts";
import { type CusumChart, cusumChart } from "./cusum.ts";
import { type EwmaChart, ewmaChart } from "./ewma.ts";

export interface DayPoint {
  readonly at: Instant;
  readonly level: number;
}

/** Both charts of one daily level, and what they say together. */
export interface DriftCharts {
  readonly ewma: EwmaChart;
  readonly cusum: CusumChart & { readonly limit: number };
  /** One standard deviation of a smoothed point while nothing drifts. */
  readonly smoothedSigma: number;
  readonly leftLimitsAt: Instant | null;
  /** By a robust line through all days, a month, at 90 %. */
  readonly trend: Interval | null;
  /** The same over the days since the level began to leave its centre; null: it stays. */
  readonly trendSinceChange: Interval | null;
}

const day = 24 * millisecondsIn.hour;
/** Days from which centre and spread are taken. Assumption: the first week on record. */
export const baselineDays = 7;
export const daysNeeded = baselineDays + 3;

/** The budget: one false alarm in two unit-years, half of it to each chart, so 1 461 daily points to each. Limits for
 *  that by Markov chain (average-run-length.ts; a test holds these numbers against it). λ and k are the handbook's
 *  usual choices: sensitive to about one standard deviation. */
export const budget = { pointsPerFalseAlarm: 1461, lambda: 0.2, width: 3.303, allowance: 0.5, limit: 6.136 };

/** Centre and spread of only seven days are doubtful themselves: the mean by σ/√7 beside a smoothed point's 0.33 σ, and
 *  the spread as Student's t with six degrees of freedom has heavier tails, 5.2 for 3.3. √(1 + 1/(7 × 0.111)) × 1.57. */
const fewDaysFactor = 2.37;

/** @param points oldest first, at least `daysNeeded`; @param leastSigma a spread found smaller is luck */
export function driftCharts(points: readonly DayPoint[], leastSigma: number): DriftCharts {
  const values = points.map(({ level }) => level);
  const base = values.slice(0, baselineDays);
  const target = base.reduce((sum, value) => sum + value, 0) / base.length;
  const variance = base.reduce((sum, value) => sum + (value - target) ** 2, 0) / (base.length - 1);
  const sigma = Math.max(leastSigma, fewDaysFactor * Math.sqrt(variance));
  const { lambda, width } = budget;
  const ewma = ewmaChart(values, { target, sigma, lambda, width });
  const limit = budget.limit * sigma;
  const cusum = cusumChart(values, { target, allowance: budget.allowance * sigma, limit });
  const starts = [outsideSince(ewma), signallingSince(cusum, values.length)].filter(
    (start) => start !== null,
  );
  const left = starts.length === 0 ? undefined : points[Math.min(...starts)];
  return {
    ewma,
    cusum: { ...cusum, limit },
    smoothedSigma: sigma * Math.sqrt(lambda / (2 - lambda)),
    leftLimitsAt: left?.at ?? null,
    trend: trendOf(points),
    trendSinceChange: left ? trendOf(points.slice(changedFrom(cusum))) : null,
  };
}

function trendOf(points: readonly DayPoint[]): Interval | null {
  const trend = robustTrend(
    points.map(({ at, level }) => ({ x: at / day, y: level })),
    0.9,
  );
  return trend && monthly(trend.slope);
}

/** Where the greater of the two sums last left zero: the usual estimate of when a change began (NIST/SEMATECH e-Handbook
 *  6.3.2.3). */
function changedFrom({ high, low }: CusumChart): number {
  const sums = (high.at(-1) ?? 0) >= (low.at(-1) ?? 0) ? high : low;
  return sums.lastIndexOf(0) + 1;
}

const monthly = ({ low, best, high, level }: Interval): Interval => ({
  low: 30 * low,
  best: 30 * best,
  high: 30 * high,
  level,
});

/** Where the run of points outside the limits that reaches the last one began. */
function outsideSince({ smoothed, lower, upper }: EwmaChart): number | null {
  const inside = smoothed.findLastIndex((point) => point >= lower && point <= upper);
  return inside === smoothed.length - 1 ? null : inside + 1;
}

/** First signal of the run of signals that reaches the last point. */
function signallingSince({ signals }: CusumChart, count: number): number | null {
  if (signals.at(-1) !== count - 1) return null;
  let start = count - 1;
  for (let index = signals.length - 2; index >= 0 && signals[index] === start - 1; index--) start--;
  return start;
}

/** When a level leaves its tolerance if it goes on as the trend says. */
export interface LeavesTolerance {
  readonly earliest: Instant;
  readonly best: Instant;
  /** null: at the slow end of the trend's interval it never does. */
  readonly latest: Instant | null;
}

/** @param moved from the baseline, at `at`
 *  @returns null where it is outside already, or doesn't move that way */
export function leavesTolerance(
  moved: number,
  trend: Interval | null,
  tolerance: number,
  at: Instant,
): LeavesTolerance | null {
  if (!trend || Math.abs(moved) >= tolerance || trend.best === 0) return null;
  const towards = Math.sign(trend.best);
  const left = tolerance - towards * moved;
  const when = (slope: number): Instant | null =>
    slope * towards <= 0 ? null : instant(at + (left / Math.abs(slope)) * 30 * day);
  const fast = towards > 0 ? trend.high : trend.low;
  const slow = towards > 0 ? trend.low : trend.high;
  const earliest = when(fast);
  const best = when(trend.best);
  return earliest && best ? { earliest, best, latest: when(slow) } : null;
}
