import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { probability } from "../../server/domain/units.ts";
import { gapCauses, priorsFor, priorTables, thinCauses } from "../../server/domain/verdicts/causes.ts";
import { decide, sidesOf } from "../../server/domain/verdicts/decide.ts";
import { gapLikelihoods } from "../../server/domain/verdicts/gap-likelihoods.ts";
import { heldBack } from "../../server/domain/verdicts/held-back.ts";
import { type ClueTable, thinLikelihoods } from "../../server/domain/verdicts/likelihoods.ts";
import { historyRow } from "../../server/domain/verdicts/own-history.ts";
import { posterior } from "../../server/domain/verdicts/posterior.ts";

import { anyClues, rowOf } from "./any-clues.ts";

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

const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
/** A device and a person, and nothing else. */
const between = (device: number, person: number) => ({
  device: probability(device),
  link: probability(0),
  handling: probability(0),
  person: probability(person),
});

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
    expect(decide(between(0.85, 0.15), thresholds, false).outcome).toBe("device");
    expect(decide(between(0.15, 0.85), thresholds, false).outcome).toBe("not-settled");
    expect(decide(between(0.08, 0.92), thresholds, false).outcome).toBe("person");
  });

  test("a person's side that is held back stays open, however likely, and a device side isn't touched", () => {
    expect(decide(between(0.001, 0.999), thresholds, true).outcome).toBe("not-settled");
    expect(decide(between(0.001, 0.999), thresholds, true).leadingSide).toBe("person");
    expect(decide(between(0.9, 0.1), thresholds, true).outcome).toBe("device");
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
