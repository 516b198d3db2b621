import { boundsOf, countReliefs, type ReliefCounts } from "../../../server/domain/adherence/bounds.ts";
import { type OwnRhythmRange, ownRhythmRange } from "../../../server/domain/adherence/own-rhythm.ts";
import { isWeekend } from "../../../server/domain/time/local-day.ts";
import type { Reviewed } from "./review-person.ts";

/** A person's week as it was seen, beside what a unit that missed nothing would have shown. */
export interface PersonWeek {
  readonly person: number;
  readonly seen: ReliefCounts;
  readonly truth: ReliefCounts;
  /** null: too little was seen, or nothing was unseen. */
  readonly narrower: OwnRhythmRange | null;
}

export function weeksOf(person: number, seen: Reviewed, whole: Reviewed): PersonWeek[] {
  const weeks: PersonWeek[] = [];
  const rhythm = seen.days.map(({ day, start, runs, due }) => ({
    start,
    runs,
    weekend: isWeekend(day),
    counts: countReliefs(due),
    away: [],
  }));
  for (let day = 0; day + 7 <= seen.days.length; day += 7) {
    const counts = (reviewed: Reviewed) =>
      countReliefs(reviewed.days.slice(day, day + 7).flatMap(({ due }) => due));
    const asked = rhythm.slice(day, day + 7);
    const learn = rhythm.slice(Math.max(0, day - 21), day + 7);
    weeks.push({
      person,
      seen: counts(seen),
      truth: counts(whole),
      narrower: ownRhythmRange(learn, asked),
    });
  }
  return weeks;
}

/** null: nothing was due in truth, or nothing was to be seen at all. */
export function isInsideBounds({ seen, truth }: PersonWeek): boolean | null {
  const bounds = boundsOf(seen);
  const share = boundsOf(truth)?.seen;
  if (!bounds || share === null || share === undefined) return null;
  return share >= bounds.low - 1e-9 && share <= bounds.high + 1e-9;
}

/** null: no narrower range is told, or nothing was due in truth. */
export function isInsideNarrower({ narrower, truth }: PersonWeek): boolean | null {
  const share = boundsOf(truth)?.seen;
  if (!narrower || share === null || share === undefined) return null;
  return share >= narrower.low - 1e-9 && share <= narrower.high + 1e-9;
}

/** How wide the narrower range is against the bounds it lies in. */
export function widthShare({ narrower, seen }: PersonWeek): number | null {
  const bounds = boundsOf(seen);
  if (!narrower || !bounds || bounds.high === bounds.low) return null;
  return (narrower.high - narrower.low) / (bounds.high - bounds.low);
}
