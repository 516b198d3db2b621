import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { probability } from "../../server/domain/units.ts";
import {
  catalogue,
  gapCauses,
  priorsFor,
  priorTables,
  thinCauses,
} from "../../server/domain/verdicts/causes.ts";
import { decide, sidesOf } from "../../server/domain/verdicts/decide.ts";
import { evidenceFor } from "../../server/domain/verdicts/evidence.ts";
import { gapLikelihoods } from "../../server/domain/verdicts/gap-likelihoods.ts";
import { heldBack } from "../../server/domain/verdicts/held-back.ts";
import { type ClueTable, likelihoodOf, thinLikelihoods } from "../../server/domain/verdicts/likelihoods.ts";
import { historyRow } from "../../server/domain/verdicts/own-history.ts";
import { posterior } from "../../server/domain/verdicts/posterior.ts";
import { gapTests, thinTests } from "../../server/domain/verdicts/settling-tests.ts";

const kinds = [
  { kind: "gap", tables: gapLikelihoods, priors: priorsFor("gap-day"), tests: gapTests },
  { kind: "thin", tables: thinLikelihoods, priors: priorsFor("thin"), tests: thinTests },
] as const;

/** Any clues, each with any non-empty set of its values. */
const anyClues = (tables: Readonly<Record<string, ClueTable>>) =>
  fc
    .tuple(
      ...Object.entries(tables).map(([clue, table]) =>
        fc.option(
          fc.subarray(Object.keys(table.values), { minLength: 1 }).map((values) => ({ clue, values })),
        ),
      ),
    )
    .map((clues) => clues.filter((one) => one !== null));

const rowOf = (
  tables: Readonly<Record<string, ClueTable>>,
  { clue, values }: { clue: string; values: string[] },
) => {
  const table = tables[clue];
  if (!table) throw new Error(clue);
  return likelihoodOf(table, values);
};

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

/** Clues that speak of the unit itself. */
const deviceClues = [
  [gapLikelihoods, priorsFor("gap-short"), gapCauses, "capacity", "faded"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "charging", "broken"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "charge-left", "never-full"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "electronics", "signs"],
  [gapLikelihoods, priorsFor("gap-short"), gapCauses, "relay", "said-down"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "relay", "restarted"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "relay", "another"],
  [gapLikelihoods, priorsFor("gap-long"), gapCauses, "power", "self-restart"],
  [gapLikelihoods, priorsFor("gap-day"), gapCauses, "power", "plenty-brown-out"],
  [thinLikelihoods, priorsFor("thin"), thinCauses, "eyes", "hides-usual"],
  [thinLikelihoods, priorsFor("thin"), thinCauses, "eyes", "drift"],
  [thinLikelihoods, priorsFor("thin"), thinCauses, "eyes", "insert-off"],
] as const;

describe("fairness", () => {
  test.each(deviceClues)("a sign of trouble in the unit never makes the person likelier (%#)", (...args) => {
    const [tables, priors, causes, clue, value] = args;
    const all: Readonly<Record<string, ClueTable>> = tables;
    fc.assert(
      fc.property(anyClues(all), (clues) => {
        const others = clues.filter((one) => one.clue !== clue).map((one) => rowOf(all, one));
        const without = sidesOf(causes, posterior(priors, others)).person;
        const withIt = sidesOf(
          causes,
          posterior(priors, [...others, rowOf(all, { clue, values: [value] })]),
        ).person;
        expect(withIt).toBeLessThanOrEqual(without + 1e-12);
      }),
    );
  });

  test("no history of silences makes the person likelier", () => {
    const count = fc.integer({ min: 0, max: 60 });
    fc.assert(
      fc.property(anyClues(gapLikelihoods), count, count, (clues, filled, others) => {
        for (const table of ["gap-short", "gap-day", "gap-long", "gap-days"] as const) {
          const priors = priorsFor(table);
          const rows = clues.map((clue) => rowOf(gapLikelihoods, clue));
          const without = sidesOf(gapCauses, posterior(priors, rows)).person;
          const row = historyRow({ filled, others }, gapCauses, priors);
          const withIt = sidesOf(gapCauses, posterior(priors, [...rows, row])).person;
          expect(withIt).toBeLessThanOrEqual(without + 1e-12);
        }
      }),
    );
  });

  test("as many earlier silences of the link as the starting shares weigh move its share halfway there", () => {
    const priors = priorsFor("gap-short");
    const { link } = sidesOf(gapCauses, priors);
    const row = historyRow({ filled: 4, others: 0 }, gapCauses, priors);
    expect(sidesOf(gapCauses, posterior(priors, [row])).link).toBeCloseTo((link + 1) / 2, 12);
  });

  test("at equal odds the person is never the one named", () => {
    const even = { device: 0.25, link: 0.25, handling: 0.25, person: 0.25 };
    const thresholds = { settledThreshold: 0.2, settledThresholdPerson: 0.2 };
    for (const other of ["device", "link", "handling"] as const) {
      const sides = { device: 0, link: 0, handling: 0, person: 0.5, [other]: 0.5 };
      const asProbabilities = {
        device: probability(sides.device),
        link: probability(sides.link),
        handling: probability(sides.handling),
        person: probability(sides.person),
      };
      expect(decide(asProbabilities, thresholds, false).leadingSide).toBe(other);
    }
    const shares = Object.values(even).map(probability);
    const [device, link, handling, person] = shares;
    if (device === undefined || link === undefined || handling === undefined || person === undefined)
      throw new Error();
    expect(decide({ device, link, handling, person }, thresholds, false).outcome).toBe("device");
  });

  test("the person is the best guess only where likelier than all the others together", () => {
    const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
    const at = (link: number, handling: number, person: number) => ({
      device: probability(0),
      link: probability(link),
      handling: probability(handling),
      person: probability(person),
    });
    expect(decide(at(0.3, 0.3, 0.4), thresholds, false).leadingSide).toBe("link");
    expect(decide(at(0.2, 0.3, 0.5), thresholds, false).leadingSide).toBe("handling");
    expect(decide(at(0.2, 0.2, 0.6), thresholds, false).leadingSide).toBe("person");
  });

  test("the same certainty that settles a device side leaves a person side open", () => {
    const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
    const at = (device: number, person: number) => ({
      device: probability(device),
      link: probability(0),
      handling: probability(0),
      person: probability(person),
    });
    expect(decide(at(0.85, 0.15), thresholds, false).outcome).toBe("device");
    expect(decide(at(0.15, 0.85), thresholds, false).outcome).toBe("not-settled");
    expect(decide(at(0.08, 0.92), thresholds, false).outcome).toBe("person");
  });

  test("a person's side that is held back stays open, however likely, and a device side isn't touched", () => {
    const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
    const at = (device: number, person: number) => ({
      device: probability(device),
      link: probability(0),
      handling: probability(0),
      person: probability(person),
    });
    expect(decide(at(0.001, 0.999), thresholds, true).outcome).toBe("not-settled");
    expect(decide(at(0.001, 0.999), thresholds, true).leadingSide).toBe("person");
    expect(decide(at(0.9, 0.1), thresholds, true).outcome).toBe("device");
  });

  test("a thin stretch is held back from the person while the grid isn't known to be sound", () => {
    const isHeld = (...clues: readonly (readonly [clue: string, ...values: string[]])[]) =>
      heldBack(
        "thin",
        clues.map(([clue, ...values]) => ({ clue, values })),
      ) !== null;
    expect(isHeld()).toBe(true);
    for (const value of Object.keys(thinLikelihoods.eyes.values))
      expect(isHeld(["eyes", value]), value).toBe(value !== "sound");
    expect(isHeld(["eyes", "sound", "drift"])).toBe(true);
    expect(isHeld(["eyes", "sound"], ["change", "isolated"], ["stirs", "2"])).toBe(false);
    expect(isHeld(["eyes", "sound"], ["change", "usually-few"], ["stirs", "2"])).toBe(true);
    expect(isHeld(["eyes", "sound"], ["change", "usually-few"])).toBe(true);
    expect(isHeld(["eyes", "sound"], ["change", "usually-few"], ["stirs", "0"])).toBe(false);
    expect(heldBack("gap", [])).toBeNull();
  });

  test("no words of a cause speak of failing, refusing or complying", () => {
    for (const { words, label } of [...gapCauses, ...thinCauses])
      expect(`${words} ${label}`).not.toMatch(/fail|refused to|complian|forgot|neglect|lazy|should have/i);
  });

  test("every table of starting shares says where it is from", () => {
    for (const table of Object.values(priorTables)) expect(table.origin).toMatch(/^assumption/);
  });
});
