import { boundsOf, countReliefs, type ReliefCounts } from "../../../server/domain/adherence/bounds.ts";
import type { Reviewed } from "./review-person.ts";

/** A person's week as it was seen, beside what a unit that missed nothing would have shown. */
export interface PersonWeek {
  readonly person: number;
  readonly seen: ReliefCounts;
  readonly truth: ReliefCounts;
}

export function weeksOf(person: number, seen: Reviewed, whole: Reviewed): PersonWeek[] {
  const weeks: PersonWeek[] = [];
  for (let day = 0; day + 7 <= seen.days.length; day += 7) {
    const counts = (reviewed: Reviewed) =>
      countReliefs(reviewed.days.slice(day, day + 7).flatMap(({ due }) => due));
    weeks.push({ person, seen: counts(seen), truth: counts(whole) });
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
