import { type CellState, works } from "../sensor-grid/cell-states.ts";
import type { EmptySums } from "../sensor-grid/grid-day.ts";
import { median } from "../statistics/median.ts";
import { type Celsius, celsius, type Instant, type Interval } from "../units.ts";
import type { CusumChart } from "./cusum.ts";
import { daysNeeded, driftCharts, type LeavesTolerance, leavesTolerance } from "./drift-chart.ts";
import type { EwmaChart } from "./ewma.ts";
import { slopePerDegree } from "./temperature.ts";

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

/** The empty pictures of one day, added up. */
export interface EmptyDay {
  readonly at: Instant;
  readonly sums: EmptySums;
}

const span = 255;
/** Quantisation alone spreads a day's mean by this share of span; a spread estimated below it is luck. Assumption. */
const leastSigma = 0.001;
/** The empty reading may creep this far, as a share of span. Assumption; the maker's tolerance wins. */
export const offsetTolerance = 0.02;

/** @param days of one baseline period (no swap, wash, bench or new firmware between), oldest first, of one grid
 *  @param states of the cells: a broken one says nothing of drift; null: take all for sound */
export function emptyOffsetDrift(
  days: readonly EmptyDay[],
  states: readonly CellState[] | null,
): OffsetDriftResult {
  const seen = days.filter(({ sums }) => sums.frames > 0);
  const perDegree = slopePerDegree(seen.map(({ sums }) => warmthOf(sums)));
  const points = dailyPoints(seen, states, perDegree);
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

/** Within one day: how warmth and level went together, over the whole grid (a few broken cells sway it little). */
function warmthOf({ frames, counts, tenths, squaredTenths, tenthsByCounts }: EmptySums) {
  const whole = counts.reduce((sum, count) => sum + count, 0);
  return {
    together: (tenthsByCounts - (tenths * whole) / frames) / 10 / counts.length / span,
    spread: (squaredTenths - tenths ** 2 / frames) / 100,
  };
}

const meanWarmth = ({ tenths, frames }: EmptySums): Celsius => celsius(tenths / frames / 10);

function dailyPoints(days: readonly EmptyDay[], states: readonly CellState[] | null, perDegree: number) {
  const [first] = days;
  const reference = first ? meanWarmth(first.sums) : 0;
  return days.flatMap(({ at, sums }) => {
    let whole = 0;
    let sound = 0;
    sums.counts.forEach((count, cell) => {
      if (states !== null && !works(states[cell])) return;
      whole += count;
      sound++;
    });
    if (sound === 0) return [];
    const level = whole / sums.frames / sound / span - perDegree * (meanWarmth(sums) - reference);
    return [{ at, level }];
  });
}
