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

/** @returns a line a clause, and the count */
export function rulingLines(rulings: readonly Ruling[]): readonly string[] {
  const width = Math.max(...rulings.map(({ clause }) => clause.length));
  const lines = rulings.map(
    ({ clause, verdict, because }) => `${clause.padEnd(width)}  ${words[verdict]}: ${because}`,
  );
  const counts = order.map((verdict) => {
    const count = rulings.filter((ruling) => ruling.verdict === verdict).length;
    return `${count} ${words[verdict]}`;
  });
  return [...lines, "", `${rulings.length} clauses: ${counts.join(", ")}`];
}

/** "Should" is advice: not following it is told, and fails nothing. */
export const exitCodeOf = (rulings: readonly Ruling[]): 0 | 1 =>
  rulings.some(({ verdict }) => verdict === "broken") ? 1 : 0;
