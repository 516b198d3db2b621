import type { Ruling, Verdict } from "./findings.ts";

const words: Readonly<Record<Verdict, string>> = {
  holds: "holds",
  broken: "DOES NOT HOLD",
  "not-as-advised": "not as advised",
  "not-tried": "not tried",
  unseen: "can't be seen from outside",
  "other-side": "is asked of the other side",
};
const order: readonly Verdict[] = ["holds", "broken", "not-as-advised", "not-tried", "unseen", "other-side"];

/** @returns a line a clause, or a run of clauses of which the same is to be said, and the count */
export function rulingLines(rulings: readonly Ruling[]): readonly string[] {
  const runs: { first: string; last: string; says: string }[] = [];
  for (const { clause, verdict, because } of rulings) {
    const says = `${words[verdict]}: ${because}`;
    const run = runs.at(-1);
    if (run?.says === says && sectionOf(run.first) === sectionOf(clause)) run.last = clause;
    else runs.push({ first: clause, last: clause, says });
  }
  const lines = runs.map(({ first, last, says }) => {
    const range = first === last ? first : `${first} to ${last}`;
    return `${range.padEnd(18)} ${says}`;
  });
  const counts = order.map((verdict) => {
    const count = rulings.filter((ruling) => ruling.verdict === verdict).length;
    return `${count} ${words[verdict]}`;
  });
  return [...lines, "", `${rulings.length} clauses: ${counts.join(", ")}`];
}

const sectionOf = (clause: string): string => clause.split(".")[0] ?? "";

/** "Should" is advice: not following it is told, and fails nothing. */
export const exitCodeOf = (rulings: readonly Ruling[]): 0 | 1 =>
  rulings.some(({ verdict }) => verdict === "broken") ? 1 : 0;
