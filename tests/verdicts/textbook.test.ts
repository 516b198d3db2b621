import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { entropyBits, mutualInformationBits, posterior } from "../../server/domain/verdicts/posterior.ts";

/** Published worked examples, copied with their source into tests/reference/naive-bayes.json. */
const reference = JSON.parse(
  readFileSync(new URL("../reference/naive-bayes.json", import.meta.url), "utf8"),
) as {
  sentiment: { docs: { cls: string; text: string }[]; test: string; posteriorNeg: number };
  playTennis: { data: string[][]; query: string[]; posteriorNo: number };
};

describe("the posterior agrees with published worked examples", () => {
  test("Jurafsky & Martin, Speech and Language Processing ch. 4: the film review is negative", () => {
    const { docs, test: text, posteriorNeg } = reference.sentiment;
    const words = (cls: string) =>
      docs.filter((doc) => doc.cls === cls).flatMap((doc) => doc.text.split(" "));
    const vocabulary = new Set(docs.flatMap((doc) => doc.text.split(" ")));
    const smoothed = (word: string, cls: string) =>
      (words(cls).filter((one) => one === word).length + 1) / (words(cls).length + vocabulary.size);
    const rows = text
      .split(" ")
      .filter((word) => vocabulary.has(word))
      .map((word) => [smoothed(word, "-"), smoothed(word, "+")]);
    expect(posterior([3 / 5, 2 / 5], rows)[0]).toBeCloseTo(posteriorNeg, 12);
  });

  test("Mitchell, Machine Learning sec. 6.9.1: no tennis on a sunny, cool, humid, windy day", () => {
    const { data, query, posteriorNo } = reference.playTennis;
    const of = (answer: string) => data.filter((row) => row.at(-1) === answer);
    const share = (answer: string, column: number, value: string) =>
      of(answer).filter((row) => row[column] === value).length / of(answer).length;
    const rows = query.map((value, column) => [share("yes", column, value), share("no", column, value)]);
    const result = posterior([of("yes").length / data.length, of("no").length / data.length], rows);
    expect(result[1]).toBeCloseTo(posteriorNo, 12);
    expect(result[1]).toBeCloseTo(0.795, 3);
  });
});

describe("expected information is exact", () => {
  // Cover & Thomas, Elements of Information Theory: a binary symmetric channel with an even input tells 1 - H(p).
  test("a test that is wrong one time in ten tells 1 - H(0.1) bits about an even question", () => {
    expect(
      mutualInformationBits(
        [0.5, 0.5],
        [
          [0.9, 0.1],
          [0.1, 0.9],
        ],
      ),
    ).toBeCloseTo(1 - entropyBits([0.1, 0.9]), 12);
  });

  test("a test whose outcome doesn't depend on the cause tells nothing, and none tells more than there is to know", () => {
    expect(
      mutualInformationBits(
        [0.2, 0.5, 0.3],
        [
          [0.4, 0.4, 0.4],
          [0.6, 0.6, 0.6],
        ],
      ),
    ).toBeCloseTo(0, 12);
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: 2, maxLength: 4 }),
        (weights) => {
          const total = weights.reduce((sum, weight) => sum + weight, 0);
          const hidden = weights.map((weight) => weight / total);
          const rows = [
            hidden.map((_, index) => (index === 0 ? 0.8 : 0.1)),
            hidden.map((_, index) => (index === 0 ? 0.2 : 0.9)),
          ];
          const bits = mutualInformationBits(hidden, rows);
          return bits >= 0 && bits <= entropyBits(hidden) + 1e-12;
        },
      ),
    );
  });
});

/** tests/reference/umbrella-world.json, with its source. */
const umbrella = JSON.parse(
  readFileSync(new URL("../reference/umbrella-world.json", import.meta.url), "utf8"),
) as {
  initial: number[];
  transition: number[][];
  emission: { u: number; n: number }[];
  observations: ("u" | "n")[];
  filtered: number[][];
  smoothed: number[][];
};

describe("what came before a moment and what came after it count alike", () => {
  const { initial, transition, emission, observations } = umbrella;
  const seen = (day: number) => emission.map((row) => row[observations[day] ?? "u"]);
  const onward = (from: readonly number[]) =>
    initial.map((_, to) =>
      from.reduce((sum, share, state) => sum + share * (transition[state]?.[to] ?? 0), 0),
    );
  const backward = (message: readonly number[]) =>
    transition.map((row) => row.reduce((sum, share, to) => sum + share * (message[to] ?? 0), 0));

  test("Russell & Norvig, umbrella world: filtering day by day, 0.818 then 0.883", () => {
    let prior: readonly number[] = onward(initial);
    for (const [day, expected] of umbrella.filtered.entries()) {
      const shares = posterior(prior, [seen(day)]);
      expect(shares[0]).toBeCloseTo(expected[0] ?? Number.NaN, 12);
      prior = onward(shares);
    }
    expect(umbrella.filtered.map(([rain]) => rain?.toFixed(3)).slice(0, 2)).toEqual(["0.818", "0.883"]);
  });

  test("the same world smoothed: forward, what was seen, and backward are three rows of one posterior", () => {
    const after: number[][] = [];
    let message: number[] = [1, 1];
    for (let day = observations.length - 1; day >= 0; day -= 1) {
      after[day] = message;
      message = backward(message.map((share, state) => share * (seen(day)[state] ?? 0)));
    }
    let prior: readonly number[] = onward(initial);
    for (const [day, expected] of umbrella.smoothed.entries()) {
      const shares = posterior(prior, [seen(day), after[day] ?? []]);
      expect(shares[0]).toBeCloseTo(expected[0] ?? Number.NaN, 12);
      prior = onward(posterior(prior, [seen(day)]));
    }
  });
});
