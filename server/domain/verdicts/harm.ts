import type { Probability } from "../units.ts";
import { type Side, sides } from "./verdict.ts";

/** What a side must reach before it is said to be settled. Blaming a person wrongly costs most, so theirs is higher. */
export interface Thresholds {
  readonly settledThreshold: number;
  readonly settledThresholdPerson: number;
}

export type Answer = Side | "not-settled";

/** Harm of each answer where it is wrong, with leaving it open as the unit; an answer that is right costs nothing. */
export type HarmTable = Readonly<Record<Answer, number>>;

/** The costs that the thresholds stand for. To say a side at probability p costs (1 - p) x its cost on average, to leave
 *  it open costs 1 whatever it was: the two are equal at p = 1 - 1 / cost, which is the threshold. At 0.8 a wrong
 *  answer costs 5 times as much as none, at 0.95 wrongly naming the person 20 times.
 *  Source: Chow 1970, On optimum recognition error and reject tradeoff, IEEE Trans Inf Theory 16:41 */
export function harmTable({ settledThreshold, settledThresholdPerson }: Thresholds): HarmTable {
  const wrongly = (threshold: number) => 1 / (1 - threshold);
  const other = wrongly(settledThreshold);
  return {
    device: other,
    link: other,
    handling: other,
    person: wrongly(settledThresholdPerson),
    "not-settled": 1,
  };
}

/** Mean harm of giving `answer`, in units of leaving it open. */
export const expectedHarm = (
  answer: Answer,
  shares: Readonly<Record<Side, Probability>>,
  table: HarmTable,
): number => (answer === "not-settled" ? 1 : 1 - shares[answer]) * table[answer];

/** Closer than this, two harms are equal; then a side is said rather than nothing. */
const tie = 1e-9;

/** The answer with the least expected harm. Of equal ones the side that comes first is given: the person last. */
export function leastHarm(shares: Readonly<Record<Side, Probability>>, table: HarmTable): Answer {
  let best: Answer = "not-settled";
  let least = expectedHarm(best, shares, table) + tie;
  for (const side of sides) {
    const harm = expectedHarm(side, shares, table);
    if (harm > least - (best === "not-settled" ? 0 : tie)) continue;
    best = side;
    least = harm;
  }
  return best;
}
