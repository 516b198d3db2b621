import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { defaultSettings } from "../../server/domain/settings.ts";
import { catalogue, priorsFor } from "../../server/domain/verdicts/causes.ts";
import { decide, sidesOf } from "../../server/domain/verdicts/decide.ts";
import { gapLikelihoods } from "../../server/domain/verdicts/gap-likelihoods.ts";
import { heldBack } from "../../server/domain/verdicts/held-back.ts";
import { type ClueTable, likelihoodOf, thinLikelihoods } from "../../server/domain/verdicts/likelihoods.ts";
import type { Observation } from "../../server/domain/verdicts/observation.ts";
import { otherEvidence } from "../../server/domain/verdicts/other-evidence.ts";
import { posterior } from "../../server/domain/verdicts/posterior.ts";
import type { StretchKind } from "../../server/domain/verdicts/verdict.ts";
import { whatWouldChange } from "../../server/domain/verdicts/what-would-change.ts";

const tables: Readonly<Record<StretchKind, Readonly<Record<string, ClueTable>>>> = {
  gap: gapLikelihoods,
  thin: thinLikelihoods,
};

const tableOf = (kind: StretchKind, clue: string): ClueTable => {
  const table = tables[kind][clue];
  if (!table) throw new Error(clue);
  return table;
};

const anyObservations = (kind: StretchKind) =>
  fc
    .tuple(
      ...Object.entries(tables[kind]).map(([clue, table]) =>
        fc.option(fc.constantFrom(...Object.keys(table.values)).map((value) => ({ clue, value }))),
      ),
    )
    .map((clues) =>
      clues
        .filter((one) => one !== null)
        .map(({ clue, value }): Observation => ({ clue, values: [value], sentence: "" })),
    );

/** Judged the long way round: everything anew. */
function judged(kind: StretchKind, observations: readonly Observation[]) {
  const priors = priorsFor(kind === "gap" ? "gap-day" : "thin");
  const likelihoods = observations.map(
    ({ clue, values, row }) => row ?? likelihoodOf(tableOf(kind, clue), values),
  );
  const causes = catalogue(kind);
  const held = heldBack(kind, observations) !== null;
  const decision = decide(sidesOf(causes, posterior(priors, likelihoods)), defaultSettings, held);
  return { kind, decision, causes, priors, observations, likelihoods, thresholds: defaultSettings };
}

function changesOf(kind: StretchKind, observations: readonly Observation[], ongoing = false) {
  const { decision, ...reasoning } = judged(kind, observations);
  return whatWouldChange(decision, reasoning, otherEvidence(kind, ongoing, observations));
}

const withInstead = (
  observations: readonly Observation[],
  clues: readonly { readonly clue: string; readonly value: string }[],
): Observation[] => [
  ...observations.filter(({ clue }) => !clues.some((one) => one.clue === clue)),
  ...clues.map(({ clue, value }) => ({ clue, values: [value], sentence: "" })),
];

for (const kind of ["gap", "thin"] as const) {
  describe(`what would change the answer about a ${kind}`, () => {
    test("judged anew with the change, the answer is the one that was told", () => {
      fc.assert(
        fc.property(anyObservations(kind), (observations) => {
          const before = judged(kind, observations).decision.outcome;
          for (const change of changesOf(kind, observations)) {
            const after = judged(kind, withInstead(observations, change.clues)).decision;
            expect(after.outcome).toBe(change.outcome);
            expect(after.outcome).not.toBe(before);
            expect(after.probability).toBeCloseTo(change.probability, 9);
          }
        }),
      );
    });

    test("the first one told is the smallest there is, and none is told only where none is", () => {
      fc.assert(
        fc.property(anyObservations(kind), (observations) => {
          const { decision } = judged(kind, observations);
          const side = decision.leadingSide;
          const decibans = (p: number) => 10 * Math.log10(p / (1 - p));
          const sizes = observations.flatMap(({ clue }) =>
            Object.keys(tableOf(kind, clue).values).flatMap((value) => {
              const after = judged(kind, withInstead(observations, [{ clue, value }])).decision;
              const moves = decibans(after.sides[side]) - decibans(decision.sides[side]);
              return after.outcome === decision.outcome ? [] : [Math.abs(moves)];
            }),
          );
          const [first] = changesOf(kind, observations);
          if (sizes.length === 0) {
            // Then it takes two clues, or one of which nothing was known.
            const known = first?.clues.every(({ clue }) => observations.some((one) => one.clue === clue));
            if (first && known) expect(first.clues).toHaveLength(2);
            return;
          }
          expect(Math.abs(first?.moves ?? Number.POSITIVE_INFINITY)).toBeLessThanOrEqual(
            Math.min(...sizes) + 1e-6,
          );
        }),
      );
    });
  });
}

describe("the words", () => {
  test("trouble found in the grid is what would take a thin stretch off the person's side", () => {
    const seen = { change: "usually-few", eyes: "sound", load: "same", plan: "same", "how-long": "more" };
    const observations = Object.entries({ ...seen, tries: "none" }).map(
      ([clue, value]): Observation => ({ clue, values: [value], sentence: "" }),
    );
    // Where few are usual, only a stretch without any stir may be the person's.
    observations.push({ clue: "stirs", values: ["0"], sentence: "", row: catalogue("thin").map(() => 1) });
    expect(judged("thin", observations).decision.outcome).toBe("person");
    const change = changesOf("thin", observations).find(({ mayStillCome }) => mayStillCome);
    expect(change?.clues.map(({ clue }) => clue)).toEqual(["eyes"]);
    expect(change?.outcome).toBe("not-settled");
    expect(change?.sentence).toMatch(
      /^Should it turn out that (part of the grid|the sensor's) .*, it would be left open \((person|device) side \d+ %\)\.$/,
    );
  });

  test("a unit that is still silent may yet say how it went: its return is among what would change the answer", () => {
    const observations = [{ clue: "battery-before", values: ["plenty"], sentence: "" }];
    const clues = changesOf("gap", observations, true).flatMap((change) => change.clues);
    expect(clues.map(({ clue }) => clue)).toContain("power");
    const ended = changesOf("gap", observations, false).flatMap((change) => change.clues);
    expect(ended.map(({ clue }) => clue)).not.toContain("power");
  });

  test("what was measured is told as what the record might have shown, not as something to be found", () => {
    const observations = [{ clue: "signal", values: ["fine"], sentence: "" }];
    for (const change of changesOf("gap", observations)) {
      const measured = change.clues.some(({ clue }) => clue === "signal");
      expect(change.sentence.startsWith("Had the record shown that ")).toBe(measured);
      expect(change.mayStillCome).toBe(!measured);
    }
  });
});
