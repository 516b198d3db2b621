import { catalogue } from "../verdicts/causes.ts";
import { type CandidateTest, gapTests, thinTests } from "../verdicts/settling-tests.ts";
import type { Side, StretchKind } from "../verdicts/verdict.ts";

/** What a result of a test on the bench or at a visit says the cause was; a result that leaves several causes open says
 *  none. Assumption: a fault found when it was looked for was the cause. */
const causeOfResult: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  "gap bench": { "battery worn": "battery-worn", "electronics faulty": "electronics" },
  "gap visit": { "charging trouble": "charging", "relay trouble": "home-link", "put away": "switched-off" },
  "thin bench": { "grid fault": "line-dead", drift: "drift" },
  "thin lean-test": { "one missing": "line-dead", "sides swapped": "insert-moved" },
};

export const candidateTest = (kind: StretchKind, test: string): CandidateTest | null =>
  (kind === "gap" ? gapTests : thinTests).find((one) => one.test === test) ?? null;

export const resultsOf = (kind: StretchKind, test: string): readonly string[] =>
  Object.keys(candidateTest(kind, test)?.outcomes ?? {});

/** null: the result settles no cause. */
export function foundBy(
  kind: StretchKind,
  test: string,
  result: string,
): { readonly side: Side; readonly cause: string } | null {
  const id = causeOfResult[`${kind} ${test}`]?.[result];
  const cause = catalogue(kind).find((one) => one.id === id);
  return cause ? { side: cause.side, cause: cause.id } : null;
}
