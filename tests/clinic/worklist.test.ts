import { expect, test } from "vitest";
import { borrowerId, loanId, stretchId } from "../../server/domain/ids.ts";
import { instant, probability } from "../../server/domain/units.ts";
import { catalogue } from "../../server/domain/verdicts/causes.ts";
import type { StretchKind, Verdict } from "../../server/domain/verdicts/verdict.ts";
import { clinicWorklist, type OpenQuestion } from "../../server/domain/verdicts/worklist.ts";

const hour = 3_600_000;
let count = 0;
const listOf = (questions: readonly OpenQuestion[]) => clinicWorklist(questions, instant(100 * hour));

function question(
  kind: StretchKind,
  cause: string,
  person: string,
  hours: readonly [number, number | null],
  settled = true,
): OpenQuestion {
  const found = catalogue(kind).find(({ id }) => id === cause);
  if (!found) throw new Error(cause);
  const [start, end] = hours;
  const p = probability(settled ? 0.96 : 0.5);
  const verdict: Verdict = {
    outcome: settled ? found.side : "not-settled",
    leadingSide: found.side,
    probability: p,
    threshold: probability(0.8),
    sides: { device: p, link: p, handling: p, person: p },
    causes: [{ cause, words: found.words, side: found.side, prior: p, probability: p }],
    evidence: [],
    settle: [],
    sentence: "",
    span: { start: instant(start * hour), end: instant((end ?? 100) * hour) },
  };
  count += 1;
  return {
    id: stretchId(`s${count}`),
    loan: loanId(`loan ${person}`),
    borrower: borrowerId(person),
    name: person,
    kind,
    start: instant(start * hour),
    end: end === null ? null : instant(end * hour),
    filled: false,
    verdict,
  };
}

test("everyone went quiet: one line for all of them, and no row about anybody", () => {
  const silent = ["A", "B", "C"].map((person) => question("gap", "programme-link", person, [10, 14]));
  const { entries, together } = listOf([...silent, question("gap", "not-charged", "D", [1, 5])]);
  expect(together).toHaveLength(3);
  expect(entries.flatMap(({ questions }) => questions.map(({ name }) => name))).toEqual(["D"]);
});

test("a network cause that isn't settled stays with the person", () => {
  const { entries, together } = listOf([question("gap", "area-outage", "A", [10, 14], false)]);
  expect(together).toEqual([]);
  expect(entries).toHaveLength(1);
});

test("many thin stretches with one cause are one row, ordinary long sits are counted, not listed", () => {
  const { entries, ordinary } = listOf([
    ...[1, 2, 3].map((start) => question("thin", "line-dead", "A", [start, start + 1])),
    question("thin", "ordinary", "A", [5, 6]),
    question("thin", "line-dead", "B", [5, 6]),
  ]);
  expect(entries.map(({ questions }) => questions.length)).toEqual([3, 1]);
  expect(ordinary).toBe(1);
});

test("harm first: a day without any record, then a likely change of the person's, then the cushion's own, then what is over", () => {
  const { entries } = listOf([
    question("gap", "not-charged", "over", [1, 5]),
    question("thin", "line-dead", "blind", [2, 4]),
    question("thin", "fewer-done", "changed", [50, 52]),
    question("gap", "home-link", "quiet", [60, null], false),
  ]);
  expect(entries.map(({ questions }) => questions[0].name)).toEqual(["quiet", "changed", "blind", "over"]);
});

test("a gap that was filled asks nothing more, but a silence that many shared is still told", () => {
  const filled = (cause: string) => ({ ...question("gap", cause, "A", [10, 14]), filled: true });
  const { entries, together } = listOf([filled("home-link"), filled("programme-link")]);
  expect(entries).toEqual([]);
  expect(together).toHaveLength(1);
});

test("of several gaps, one that goes on counts until now, not until it was last judged", () => {
  const open = question("gap", "not-charged", "A", [90, null]);
  const judgedEarly = {
    ...open,
    verdict: { ...open.verdict, span: { ...open.verdict.span, end: instant(92 * hour) } },
  };
  expect(listOf([judgedEarly]).entries[0]?.lasted).toBe(10 * hour);
});
