import type { ReliefCounts } from "./bounds.ts";

/** One day's due reliefs as one unit saw them under one plan. */
export interface ShareDay {
  /** Days since any fixed one. */
  readonly x: number;
  readonly counts: ReliefCounts;
  /** Enough of it was observed for it to count. */
  readonly observed: boolean;
}

/** Fewer due reliefs seen on a day give no share of that day. Assumption. */
const fewestSeen = 3;

export const countsAsShare = ({ observed, counts: { met, missed } }: ShareDay): boolean =>
  observed && met + missed >= fewestSeen;
