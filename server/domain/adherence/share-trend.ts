import { alikeNeighbours, slopeOfRanges } from "../statistics/slope-of-ranges.ts";
import { theilSenSlope } from "../statistics/theil-sen.ts";
import type { Interval } from "../units.ts";
import { boundsOf } from "./bounds.ts";
import { countsAsShare, type ShareDay } from "./share-days.ts";

/** How the share of due reliefs met went over days, as a change of the share a week. */
export interface ShareTrend {
  readonly days: number;
  /** Of the reliefs seen. */
  readonly seen: Interval;
  /** Whatever happened in the unseen part of those days. */
  readonly whatever: { readonly low: number; readonly high: number };
}

const level = 0.95;
const week = 7;

/** @param days of one unit under one plan, oldest first: a step from one sensor or plan to another is no trend
 *  @param fewest days that must count
 *  @returns null where fewer do. Days that don't count are left out, those between them keep their distance. */
export function shareTrend(days: readonly ShareDay[], fewest: number): ShareTrend | null {
  const counted = days.filter(countsAsShare);
  if (counted.length < Math.max(fewest, 4)) return null;
  const seen = counted.map(({ x, counts: { met, missed } }) => ({ x, y: met / (met + missed) }));
  const best = theilSenSlope(seen);
  const alike = alikeNeighbours(seen.map(({ x, y }) => y - best * x));
  const ofSeen = slopeOfRanges(
    seen.map(({ x, y }) => ({ x, low: y, high: y })),
    level,
    alike,
  );
  const ofAll = slopeOfRanges(
    counted.map(({ x, counts }) => {
      const { low, high } = boundsOf(counts) ?? { low: 0, high: 1 };
      return { x, low, high };
    }),
    level,
    alike,
  );
  return {
    days: counted.length,
    seen: { low: ofSeen.low * week, best: best * week, high: ofSeen.high * week, level },
    whatever: { low: ofAll.low * week, high: ofAll.high * week },
  };
}
