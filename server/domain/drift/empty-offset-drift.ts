import type { RecordedFrame } from "../record/unit-record.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";
import { type EwmaChart, ewmaChart } from "./ewma.ts";

/** How the empty reading of a whole grid creeps, as a share of span, one point a day. */
export interface OffsetDrift {
  readonly points: readonly { readonly at: Instant; readonly shareOfSpan: number }[];
  readonly chart: EwmaChart;
  readonly leftLimitsAt: Instant | null;
  /** Share of span a month, by the median of all pairwise slopes (Theil 1950, Sen 1968). */
  readonly slopePerMonth: number;
}

export type OffsetDriftResult =
  | { readonly kind: "charted"; readonly drift: OffsetDrift }
  | { readonly kind: "too-few-days"; readonly have: number; readonly need: number };

const span = 255;
const day = 24 * millisecondsIn.hour;
/** Days from which centre and spread are taken. Assumption: a loan's first week. */
const baselineDays = 7;
const need = baselineDays + 3;
/** λ 0.2 with limits at 3 σ runs 560 points on average before a false alarm: one in about a year and a half of days.
 *  Source: average run length by integral equation, R package spc. */
const lambda = 0.2;
const width = 3;
/** Quantisation alone spreads a day's mean by this share of span; a spread estimated below it is luck. Assumption. */
const leastSigma = 0.001;

/** @param frames of one baseline period (no swap, wash or bench between), oldest first
 *  Temperature is not yet taken out: a cold week can look like drift, which is why the finding says so. */
export function emptyOffsetDrift(frames: readonly RecordedFrame[]): OffsetDriftResult {
  const points = dailyPoints(frames.filter((frame) => frame.seat === "empty"));
  if (points.length < need) return { kind: "too-few-days", have: points.length, need };
  const values = points.map((point) => point.shareOfSpan);
  const baseline = values.slice(0, baselineDays);
  const target = mean(baseline);
  const variance = baseline.reduce((sum, value) => sum + (value - target) ** 2, 0) / (baselineDays - 1);
  const chart = ewmaChart(values, {
    target,
    sigma: Math.max(leastSigma, Math.sqrt(variance)),
    lambda,
    width,
  });
  const crossing = chart.firstCrossing;
  return {
    kind: "charted",
    drift: {
      points,
      chart,
      leftLimitsAt: crossing === null ? null : (points[crossing]?.at ?? null),
      slopePerMonth: theilSenSlope(points) * 30 * day,
    },
  };
}

function dailyPoints(empty: readonly RecordedFrame[]): { at: Instant; shareOfSpan: number }[] {
  const byDay = new Map<number, number[]>();
  for (const frame of empty) {
    const index = Math.floor(frame.at / day);
    const level = mean(Array.from(frame.cells)) / span;
    const levels = byDay.get(index);
    if (levels) levels.push(level);
    else byDay.set(index, [level]);
  }
  return [...byDay].map(([index, levels]) => ({
    at: instant((index + 0.5) * day),
    shareOfSpan: mean(levels),
  }));
}

/** Median of the slopes between all pairs, per millisecond. Source: Sen 1968, J Am Stat Assoc 63:1379. */
function theilSenSlope(points: readonly { at: Instant; shareOfSpan: number }[]): number {
  const slopes = points.flatMap((from, index) =>
    points.slice(index + 1).map((to) => (to.shareOfSpan - from.shareOfSpan) / (to.at - from.at)),
  );
  slopes.sort((a, b) => a - b);
  const middle = Math.floor(slopes.length / 2);
  const upper = slopes[middle] ?? 0;
  return slopes.length % 2 === 1 ? upper : ((slopes[middle - 1] ?? 0) + upper) / 2;
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
