import type { RecordedFrame } from "../record/unit-record.ts";
import { type CellState, works } from "../sensor-grid/cell-states.ts";
import { median } from "../statistics/median.ts";
import { type Instant, type Interval, instant, millisecondsIn } from "../units.ts";
import type { CusumChart } from "./cusum.ts";
import { daysNeeded, driftCharts, type LeavesTolerance, leavesTolerance } from "./drift-chart.ts";
import type { EwmaChart } from "./ewma.ts";
import { slopePerDegree, type WarmReading } from "./temperature.ts";

/** How the empty reading of a whole grid creeps, as a share of span, one point a day, as if each day had been as warm as
 *  the first. */
export interface OffsetDrift {
  readonly points: readonly { readonly at: Instant; readonly shareOfSpan: number }[];
  readonly chart: EwmaChart;
  readonly cusum: CusumChart & { readonly limit: number };
  /** Standard deviation of one smoothed point while nothing drifts. */
  readonly smoothedSigma: number;
  /** First day of the time outside the limits of either chart that lasts until now; null: it is inside. */
  readonly leftLimitsAt: Instant | null;
  /** Share of span a month, by a robust line through all days. */
  readonly slopePerMonth: number;
  readonly trend: Interval | null;
  /** Share of span a degree, taken out of the points. */
  readonly perDegree: number;
  readonly tolerance: number;
  readonly leavesTolerance: LeavesTolerance | null;
}

export type OffsetDriftResult =
  | { readonly kind: "charted"; readonly drift: OffsetDrift }
  | { readonly kind: "too-few-days"; readonly have: number; readonly need: number };

const span = 255;
const day = 24 * millisecondsIn.hour;
/** Quantisation alone spreads a day's mean by this share of span; a spread estimated below it is luck. Assumption. */
const leastSigma = 0.001;
/** The empty reading may creep this far, as a share of span. Assumption; the maker's tolerance wins. */
export const offsetTolerance = 0.02;

/** @param frames of one baseline period (no swap, wash, bench or new firmware between), oldest first
 *  @param states of the cells: a broken one says nothing of drift; null: take all for sound */
export function emptyOffsetDrift(
  frames: readonly RecordedFrame[],
  states: readonly CellState[] | null,
): OffsetDriftResult {
  const readings = readingsOf(frames, states);
  const perDegree = slopePerDegree(readings);
  const points = dailyPoints(readings, perDegree);
  const last = points.at(-1);
  if (!last || points.length < daysNeeded)
    return { kind: "too-few-days", have: points.length, need: daysNeeded };
  const { ewma, cusum, smoothedSigma, leftLimitsAt, trend, trendSinceChange } = driftCharts(
    points,
    leastSigma,
  );
  // A smoothed point lags behind a trend: the last few days say where it stands now.
  const lately = median(points.slice(-3).map(({ level }) => level)) ?? last.level;
  return {
    kind: "charted",
    drift: {
      points: points.map(({ at, level }) => ({ at, shareOfSpan: level })),
      chart: ewma,
      cusum,
      smoothedSigma,
      leftLimitsAt,
      slopePerMonth: trend?.best ?? 0,
      trend,
      perDegree,
      tolerance: offsetTolerance,
      leavesTolerance:
        leftLimitsAt === null
          ? null
          : leavesTolerance(lately - ewma.centre, trendSinceChange, offsetTolerance, last.at),
    },
  };
}

function readingsOf(
  frames: readonly RecordedFrame[],
  states: readonly CellState[] | null,
): readonly WarmReading[] {
  return frames.flatMap((frame): WarmReading[] => {
    if (frame.seat !== "empty") return [];
    let sum = 0;
    let sound = 0;
    frame.cells.forEach((count, cell) => {
      if (states !== null && !works(states[cell])) return;
      sum += count;
      sound++;
    });
    if (sound === 0) return [];
    return [{ day: Math.floor(frame.at / day), temperature: frame.temperature, level: sum / sound / span }];
  });
}

function dailyPoints(readings: readonly WarmReading[], perDegree: number) {
  const first = readings[0];
  const byDay = new Map<number, number[]>();
  for (const reading of readings) {
    const level = reading.level - perDegree * (reading.temperature - (first?.temperature ?? 0));
    const levels = byDay.get(reading.day);
    if (levels) levels.push(level);
    else byDay.set(reading.day, [level]);
  }
  return [...byDay].map(([index, levels]) => ({
    at: instant((index + 0.5) * day),
    level: levels.reduce((sum, level) => sum + level, 0) / levels.length,
  }));
}
