import { boundsOf, type ReliefCounts } from "./bounds.ts";
import type { OwnRhythmRange } from "./own-rhythm.ts";

/** What the share of due reliefs met would be, if the unseen ones had been so. */
export interface Scenario {
  readonly name:
    | "all-made"
    | "none-made"
    | "as-seen"
    | "own-rhythm"
    | "own-rhythm-fewer"
    | "own-rhythm-more"
    | "verdicts-as-given";
  readonly low: number;
  readonly high: number;
}

/** Each is an assumption; the bounds (bounds.ts) need none, and lie around them all.
 *  @param counts of the days shown
 *  @param nobodySat of the reliefs not assessable, those in gaps whose verdict, settled, says that the cushion was not in
 *  use: if it is right, none of them fell due, and of the others nothing is assumed
 *  @returns none where nothing was unseen, or nothing seen */
export function scenarios(
  counts: ReliefCounts,
  nobodySat: number,
  rhythm: OwnRhythmRange | null,
): Scenario[] {
  const share = boundsOf(counts);
  if (share === null || share.seen === null || counts.notAssessable === 0) return [];
  const seen = share.seen;
  const at = (name: Scenario["name"], value: number): Scenario => ({ name, low: value, high: value });
  const within = (name: Scenario["name"], { low, high }: { low: number; high: number }) => ({
    name,
    low,
    high,
  });
  const asGiven = boundsOf({ ...counts, notAssessable: counts.notAssessable - nobodySat });
  return [
    at("all-made", share.high),
    at("none-made", share.low),
    at("as-seen", seen),
    ...(rhythm === null
      ? []
      : [
          within("own-rhythm", rhythm),
          within("own-rhythm-fewer", rhythm.ifFewer),
          within("own-rhythm-more", rhythm.ifMore),
        ]),
    ...(nobodySat === 0 || asGiven === null ? [] : [within("verdicts-as-given", asGiven)]),
  ];
}
