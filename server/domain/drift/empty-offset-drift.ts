import type { RecordedFrame } from "../record/unit-record.ts";
import type { CellState } from "../sensor-grid/cell-states.ts";
import { theilSenSlope } from "../statistics/theil-sen.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";
import { type EwmaChart, ewmaChart } from "./ewma.ts";

/** How the empty reading of a whole grid creeps, as a share of span, one point a day. */
export interface OffsetDrift {
  readonly points: readonly { readonly at: Instant; readonly shareOfSpan: number }[];
  readonly chart: EwmaChart;
  /** Standard deviation of one smoothed point while nothing drifts. */
  readonly smoothedSigma: number;
  /** First day of the time outside the limits that lasts until now; null: it is inside. */
  readonly leftLimitsAt: Instant | null;
  /** Share of span a month, by a robust line through all days. */
  readonly slopePerMonth: number;
}

export type OffsetDriftResult =
  | { readonly kind: "charted"; readonly drift: OffsetDrift }
  | { readonly kind: "too-few-days"; readonly have: number; readonly need: number };

const span = 255;
const day = 24 * millisecondsIn.hour;
/** Days from which centre and spread are taken. Assumption: the first week on record. */
const baselineDays = 7;
const need = baselineDays + 3;
/** λ 0.2 with limits at 3 σ runs 560 points on average before a false alarm: one in about a year and a half of days.
 *  Source: average run length by integral equation, R package spc. Centre and spread taken from few days shorten that. */
const lambda = 0.2;
const width = 3;
/** Quantisation alone spreads a day's mean by this share of span; a spread estimated below it is luck. Assumption. */
const leastSigma = 0.001;

/** @param frames of one baseline period (no swap, wash or bench between), oldest first
 *  @param states of the cells: a broken one says nothing of drift; null: take all for sound
 *  Temperature is not yet taken out: a cold week can look like drift, which is why the finding says so. */
export function emptyOffsetDrift(
  frames: readonly RecordedFrame[],
  states: readonly CellState[] | null,
): OffsetDriftResult {
  const points = dailyPoints(
    frames.filter((frame) => frame.seat === "empty"),
    states,
  );
  if (points.length < need) return { kind: "too-few-days", have: points.length, need };
  const values = points.map((point) => point.shareOfSpan);
  const baseline = values.slice(0, baselineDays);
  const target = mean(baseline);
  const variance = baseline.reduce((sum, value) => sum + (value - target) ** 2, 0) / (baselineDays - 1);
  const sigma = Math.max(leastSigma, Math.sqrt(variance));
  const chart = ewmaChart(values, { target, sigma, lambda, width });
  const leftAt = outsideSince(chart);
  return {
    kind: "charted",
    drift: {
      points,
      chart,
      smoothedSigma: sigma * Math.sqrt(lambda / (2 - lambda)),
      leftLimitsAt: leftAt === null ? null : (points[leftAt]?.at ?? null),
      slopePerMonth:
        theilSenSlope(points.map(({ at, shareOfSpan }) => ({ x: at / day, y: shareOfSpan }))) * 30,
    },
  };
}

/** Where the run of points outside the limits that reaches the last one began. */
function outsideSince({ smoothed, lower, upper }: EwmaChart): number | null {
  const inside = smoothed.findLastIndex((point) => point >= lower && point <= upper);
  return inside === smoothed.length - 1 ? null : inside + 1;
}

function dailyPoints(
  empty: readonly RecordedFrame[],
  states: readonly CellState[] | null,
): { at: Instant; shareOfSpan: number }[] {
  const byDay = new Map<number, number[]>();
  for (const frame of empty) {
    const index = Math.floor(frame.at / day);
    const sound = Array.from(frame.cells).filter((_, cell) => isSound(states?.[cell]));
    if (sound.length === 0) continue;
    const level = mean(sound) / span;
    const levels = byDay.get(index);
    if (levels) levels.push(level);
    else byDay.set(index, [level]);
  }
  return [...byDay].map(([index, levels]) => ({
    at: instant((index + 0.5) * day),
    shareOfSpan: mean(levels),
  }));
}

const isSound = (state: CellState | undefined): boolean => state !== "open" && state !== "stuck";

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
