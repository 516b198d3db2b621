import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { catalogue, priorsFor } from "../../server/domain/verdicts/causes.ts";
import { sidesOf } from "../../server/domain/verdicts/decide.ts";
import { evidenceFor } from "../../server/domain/verdicts/evidence.ts";
import { gapLikelihoods } from "../../server/domain/verdicts/gap-likelihoods.ts";
import { type ClueTable, likelihoodOf, thinLikelihoods } from "../../server/domain/verdicts/likelihoods.ts";
import { posterior } from "../../server/domain/verdicts/posterior.ts";
import { gapTests, thinTests } from "../../server/domain/verdicts/settling-tests.ts";

import { anyClues, rowOf } from "./any-clues.ts";

const kinds = [
  { kind: "gap", tables: gapLikelihoods, priors: priorsFor("gap-day"), tests: gapTests },
  { kind: "thin", tables: thinLikelihoods, priors: priorsFor("thin"), tests: thinTests },
] as const;

for (const { kind, tables, priors, tests } of kinds) {
  describe(`the model of a ${kind}`, () => {
    const causes = catalogue(kind);

    test("has one positive number for each cause in every row of every table", () => {
      for (const table of Object.values<ClueTable>(tables)) {
        for (const row of Object.values(table.values)) {
          expect(row).toHaveLength(causes.length);
          expect(Math.min(...row)).toBeGreaterThan(0);
        }
        const all = likelihoodOf(table, Object.keys(table.values));
        for (const whole of all) expect(whole).toBeCloseTo(1, 12);
      }
      for (const { outcomes } of tests)
        for (const row of Object.values(outcomes)) expect(row).toHaveLength(causes.length);
    });

    test("gives probabilities that add up to 1, the same whatever the order of the clues", () => {
      fc.assert(
        fc.property(anyClues(tables), (clues) => {
          const rows = clues.map((clue) => rowOf(tables, clue));
          const shares = posterior(priors, rows);
          expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12);
          expect(posterior(priors, [...rows].reverse())).toEqual(shares);
        }),
      );
    });

    test("never lowers the cause under which a clue is likeliest", () => {
      fc.assert(
        fc.property(anyClues(tables), fc.nat(), (clues, pick) => {
          const extra = clues[pick % Math.max(1, clues.length)];
          if (!extra) return;
          const row = rowOf(tables, extra);
          const others = clues.filter((one) => one !== extra).map((one) => rowOf(tables, one));
          const likeliest = row.indexOf(Math.max(...row));
          const before = posterior(priors, others)[likeliest] ?? 0;
          expect(posterior(priors, [...others, row])[likeliest]).toBeGreaterThanOrEqual(before - 1e-12);
        }),
      );
    });

    test("is not moved by a clue that could be anything", () => {
      fc.assert(
        fc.property(
          anyClues(tables),
          fc.constantFrom(...Object.values<ClueTable>(tables)),
          (clues, table) => {
            const rows = clues.map((clue) => rowOf(tables, clue));
            const more = posterior(priors, [...rows, likelihoodOf(table, Object.keys(table.values))]);
            posterior(priors, rows).forEach((share, cause) => {
              expect(more[cause]).toBeCloseTo(share, 10);
            });
          },
        ),
      );
    });

    test("lists as the weight of each clue exactly how it moved the odds", () => {
      fc.assert(
        fc.property(anyClues(tables), (clues) => {
          const rows = clues.map((clue) => rowOf(tables, clue));
          const lines = evidenceFor(
            "link",
            causes,
            priors,
            clues.map((one) => ({ ...one, sentence: "" })),
            rows,
          );
          const odds = (some: number[][]) => {
            const { link, ...rest } = sidesOf(causes, posterior(priors, some));
            return link / (rest.device + rest.handling + rest.person);
          };
          for (const line of lines) {
            const index = clues.findIndex(({ clue }) => clue === line.clue);
            const without = odds(rows.filter((_, other) => other !== index));
            const ratio = (odds(rows) / without) * 10 ** (-line.weight / 10);
            if (Number.isFinite(ratio)) expect(ratio).toBeCloseTo(1, 6);
          }
        }),
        { numRuns: 50 },
      );
    });
  });
}
