import type { Adherence, DueRelief } from "./adherence.ts";

export interface ReliefCounts {
  readonly met: number;
  readonly missed: number;
  readonly notAssessable: number;
}

export function countReliefs(due: readonly DueRelief[]): ReliefCounts {
  const count = (outcome: DueRelief["outcome"]): number =>
    due.reduce((total, relief) => total + (relief.outcome === outcome ? 1 : 0), 0);
  return { met: count("met"), missed: count("missed"), notAssessable: count("not-assessable") };
}

export const addCounts = (counts: readonly ReliefCounts[]): ReliefCounts =>
  counts.reduce(
    (sum, { met, missed, notAssessable }) => ({
      met: sum.met + met,
      missed: sum.missed + missed,
      notAssessable: sum.notAssessable + notAssessable,
    }),
    { met: 0, missed: 0, notAssessable: 0 },
  );

/** Share of reliefs met, with the bounds that hold whatever happened in the unseen part: low = met / all,
 *  high = (met + unseen) / all. Their width is the unseen share and doesn't shrink with more data.
 *  @param counts whole or, where derived from hours, fractional
 *  @returns null when none were due
 *  Source: Manski, C. F. 2005, Int J Approximate Reasoning 39:151 (no-assumption bounds). */
export function boundsOf({ met, missed, notAssessable }: ReliefCounts): Adherence["share"] {
  const seen = met + missed;
  const all = seen + notAssessable;
  if (all === 0) return null;
  return { low: met / all, seen: seen === 0 ? null : met / seen, high: (met + notAssessable) / all };
}
