import { describe, expect, it, test } from "vitest";
import { foundBy, resultsOf } from "../../server/domain/learning/test-results.ts";
import { zoneName } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import { catalogue, priorsFor } from "../../server/domain/verdicts/causes.ts";
import { sidesOf } from "../../server/domain/verdicts/decide.ts";
import { mutualInformationBits, posterior } from "../../server/domain/verdicts/posterior.ts";
import { rankTests } from "../../server/domain/verdicts/settle.ts";
import { gapTests, thinTests } from "../../server/domain/verdicts/settling-tests.ts";
import { testedObservations } from "../../server/domain/verdicts/tested-evidence.ts";

const zone = zoneName("Europe/London");
if (!zone) throw new Error("no zone");
const at = instant(0);
const rowOf = (kind: "gap" | "thin", name: string, result: string) =>
  testedObservations(kind, [{ test: name, result, at }], zone)[0]?.row ?? [];

const naming = [["gap", gapTests] as const, ["thin", thinTests] as const].flatMap(([kind, tests]) =>
  tests.flatMap(({ test: name }) =>
    resultsOf(kind, name)
      .filter((result) => foundBy(kind, name, result) !== null)
      .map((result) => [kind, name, result] as const),
  ),
);

describe("what a test showed, as evidence", () => {
  it.each(naming)("%s, %s, %s: no cause has a lower number than the person's", (kind, name, result) => {
    const row = rowOf(kind, name, result);
    const persons = row.filter((_, cause) => catalogue(kind)[cause]?.side === "person");
    expect(Math.min(...row)).toBeGreaterThanOrEqual(Math.max(...persons));
  });

  test("tells on average what the test was expected to tell: the bits of the list are those of its rows", () => {
    // Lindley 1956: expected information is the mean over results of how far the posterior lies from the prior. A visit
    // has a result, nobody in, that speaks for the person and is taken as it stands.
    const causes = catalogue("thin");
    const shares = priorsFor("thin");
    const sides = sidesOf(causes, shares);
    const listed = rankTests("thin", false, causes, shares, sides).find(
      ({ test: name }) => name === "lean-test",
    );
    const rows = resultsOf("thin", "lean-test").map((result) => {
      const outcomes = thinTests.find(({ test: name }) => name === "lean-test")?.outcomes ?? {};
      const all = Object.values(outcomes);
      return (outcomes[result] ?? []).map(
        (part, cause) => part / all.reduce((sum, row) => sum + (row[cause] ?? 0), 0),
      );
    });
    const keys = ["device", "link", "handling", "person"] as const;
    const information = rows.reduce((sum, row) => {
      const chance = row.reduce((total, part, cause) => total + part * (shares[cause] ?? 0), 0);
      const then = sidesOf(causes, posterior(shares, [row]));
      return (
        sum +
        chance *
          keys.reduce(
            (total, side) =>
              total +
              (then[side] > 0 ? then[side] * Math.log2(then[side] / Math.max(sides[side], 1e-300)) : 0),
            0,
          )
      );
    }, 0);
    expect(information).toBeCloseTo(listed?.expectedBits ?? 0, 9);
    expect(
      mutualInformationBits(
        [0.5, 0.5],
        [
          [1, 0],
          [0, 1],
        ],
      ),
    ).toBeCloseTo(1, 12);
  });

  it("of a test done twice takes the later, and nothing from a result the test can't have", () => {
    const twice = [
      { test: "bench", result: "sound", at: instant(2) },
      { test: "bench", result: "battery worn", at: instant(1) },
    ];
    expect(testedObservations("gap", twice, zone).map(({ values }) => values)).toEqual([["sound"]]);
    expect(testedObservations("gap", [{ test: "bench", result: "a dragon", at }], zone)).toEqual([]);
  });

  it("moves a gap by what its table says and no more: a worn cell found where hardly anything spoke for one tells little of why the unit was silent", () => {
    // Bayes in odds (Jeffreys 1939): not charged at 0.75, worn at 0.006, the rest among causes that a worn cell found by
    // chance tells nothing of. The bench finds one by chance in about one unit of twenty (the table's assumption).
    const causes = catalogue("gap").map(({ id }) => id);
    const rest = (1 - 0.75 - 0.006) / (causes.length - 2);
    const prior = causes.map((id) => (id === "not-charged" ? 0.75 : id === "battery-worn" ? 0.006 : rest));
    const row = rowOf("gap", "bench", "battery worn");
    const share = (shares: readonly number[], id: string) => shares[causes.indexOf(id)] ?? Number.NaN;
    const after = posterior(prior, [row]);
    expect(share(after, "battery-worn") / share(after, "not-charged")).toBeCloseTo(
      (0.006 / 0.75) * (0.93 / 0.06),
      9,
    );
    expect(share(after, "not-charged")).toBeGreaterThan(0.7);
    // Where the record had left both open, the same result settles it.
    const open = posterior(
      causes.map((id) => (id === "not-charged" || id === "battery-worn" ? 0.45 : 0.1 / (causes.length - 2))),
      [row],
    );
    expect(share(open, "battery-worn")).toBeGreaterThan(0.9);
  });
});
