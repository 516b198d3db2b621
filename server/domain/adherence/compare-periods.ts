import { clusteredShare, shareDifference } from "../statistics/share-difference.ts";
import type { Interval } from "../units.ts";
import { addCounts, boundsOf } from "./bounds.ts";
import { countsAsShare, type ShareDay } from "./share-days.ts";

/** Two periods of one person, of one unit under one plan. */
export type Comparison =
  | { readonly kind: "too-little"; readonly which: "these" | "others" | "both" }
  | {
      readonly kind: "compared";
      readonly these: number;
      readonly others: number;
      /** Share met of the reliefs seen, these days less the others. */
      readonly seen: Interval;
      /** Whatever happened in the unseen part of both; it has no chance error in it. */
      readonly whatever: { readonly low: number; readonly high: number };
    };

interface Enough {
  readonly days: number;
  readonly due: number;
}

const level = 0.95;

/** The interval is that of the difference: whether the two periods' own intervals overlap decides nothing. Reliefs of one
 *  day go together, so each period counts for fewer than it has (clusteredShare).
 *  @param enough days that count, and due reliefs seen on them, that each period must have */
export function comparePeriods(
  these: readonly ShareDay[],
  others: readonly ShareDay[],
  enough: Enough,
): Comparison {
  const isShort = [these, others].map((days) => tooLittle(days, enough));
  if (isShort[0] || isShort[1])
    return { kind: "too-little", which: isShort[0] && isShort[1] ? "both" : isShort[0] ? "these" : "others" };
  const [one, other] = [these, others].map((days) =>
    clusteredShare(days.filter(countsAsShare).map(clusterOf)),
  );
  const [mine, theirs] = [these, others].map((days) => boundsOf(addCounts(days.map(({ counts }) => counts))));
  if (!one || !other || !mine || !theirs) throw new Error("a period with enough due has a share");
  return {
    kind: "compared",
    these: one.share,
    others: other.share,
    seen: shareDifference(one, other, level),
    whatever: { low: mine.low - theirs.high, high: mine.high - theirs.low },
  };
}

const clusterOf = ({ counts: { met, missed } }: ShareDay) => ({ yes: met, trials: met + missed });

function tooLittle(days: readonly ShareDay[], enough: Enough): boolean {
  const counted = days.filter(countsAsShare);
  const due = counted.reduce((sum, { counts: { met, missed } }) => sum + met + missed, 0);
  return counted.length < enough.days || due < enough.due;
}
