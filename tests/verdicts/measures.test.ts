import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { brierParts, brierScore, calibrationError } from "../../scripts/bench/verdicts/measures.ts";
import { learnOracle } from "../../scripts/bench/verdicts/oracle.ts";

/** What the bench of verdicts is measured with. */
describe("the measures of the bench", () => {
  test("the score of a yes-or-no forecast is twice the one that a statistics library prints for it", () => {
    // scikit-learn, documentation of brier_score_loss: p 0.1, 0.9, 0.8, 0.3 for 0, 1, 1, 0 gives 0.0375.
    const cases = (
      [
        [0.1, 0],
        [0.9, 1],
        [0.8, 1],
        [0.3, 0],
      ] as const
    ).map(([p, truth]) => ({ shares: [1 - p, p], truth }));
    expect(brierScore(cases)).toBeCloseTo(2 * 0.0375, 12);
  });

  test("the score over several sides is the mean of the summed squares", () => {
    // Brier 1950; five cases over three classes, 0.287 by scikit-learn's definition of the multi-class score.
    const shares = [
      [0.7, 0.2, 0.1],
      [0.1, 0.6, 0.3],
      [0.2, 0.2, 0.6],
      [0.5, 0.3, 0.2],
      [0.05, 0.05, 0.9],
    ];
    const truths = [0, 1, 2, 1, 2];
    const cases = shares.map((row, index) => ({ shares: row, truth: truths[index] ?? 0 }));
    expect(brierScore(cases)).toBeCloseTo(0.287, 12);
  });

  test("score = reliability - resolution + uncertainty, by Murphy's decomposition in exact fractions", () => {
    // Murphy 1973: [forecast, how often made, how often it happened]; parts 3/1000, 861/10000, 609/2500, score 321/2000.
    const table = [
      [0, 10, 0],
      [0.1, 20, 3],
      [0.3, 20, 5],
      [0.5, 20, 11],
      [0.7, 15, 9],
      [0.9, 10, 9],
      [1, 5, 5],
    ] as const;
    const forecasts = table.flatMap(([probability, count, happened]) =>
      Array.from({ length: count }, (_, index) => ({ probability, happened: index < happened })),
    );
    const parts = brierParts(forecasts, 20);
    expect(parts.reliability).toBeCloseTo(3 / 1000, 12);
    expect(parts.resolution).toBeCloseTo(861 / 10_000, 12);
    expect(parts.uncertainty).toBeCloseTo(609 / 2500, 12);
    const score = forecasts.reduce((sum, one) => sum + (one.probability - (one.happened ? 1 : 0)) ** 2, 0);
    expect(score / forecasts.length).toBeCloseTo(321 / 2000, 12);
    expect(parts.reliability - parts.resolution + parts.uncertainty).toBeCloseTo(321 / 2000, 12);
  });

  test("with unequal forecasts in a band the parts miss the score by the two terms within the bands, and by nothing else", () => {
    // Stephenson, Coelho & Jolliffe 2008, Weather and Forecasting 23:752; tests/reference/binned-scores.json.
    const binned = JSON.parse(
      readFileSync(new URL("../reference/binned-scores.json", import.meta.url), "utf8"),
    ) as Record<string, number> & { p: number[]; y: number[] };
    const forecasts = binned.p.map((probability, index) => ({
      probability,
      happened: binned.y[index] === 1,
    }));
    const parts = brierParts(forecasts, 5);
    expect(parts.reliability).toBeCloseTo(binned.reliability ?? Number.NaN, 12);
    expect(parts.resolution).toBeCloseTo(binned.resolution ?? Number.NaN, 12);
    expect(parts.uncertainty).toBeCloseTo(binned.uncertainty ?? Number.NaN, 12);
    const within = (binned.withinBinVariance ?? 0) - (binned.withinBinCovariance ?? 0);
    expect(parts.reliability - parts.resolution + parts.uncertainty + within).toBeCloseTo(
      binned.brier ?? Number.NaN,
      12,
    );
  });

  test("the calibration error is how far bands of certainty are from how often they were right", () => {
    // By hand: ten at 0.95 of which nine were right, ten at 0.65 of which seven were.
    const at = (p: number, right: number) =>
      Array.from({ length: 10 }, (_, index) => ({ shares: [p, 1 - p], truth: index < right ? 0 : 1 }));
    expect(calibrationError([...at(0.95, 9), ...at(0.65, 7)])).toBeCloseTo(0.05, 12);
  });

  test("the oracle says what it counted: nine of ten with these clues were the link", () => {
    const seen = (side: string, count: number) =>
      Array.from({ length: count }, () => ({ side, clues: ["signal=none", "together=alone"] }));
    const oracle = learnOracle([...seen("link", 900), ...seen("person", 100)]);
    const [device, link, , person] = oracle.sharesOf(["signal=none", "together=alone"]);
    expect(link).toBeCloseTo(0.9, 2);
    expect(person).toBeCloseTo(0.1, 2);
    expect(device).toBeLessThan(0.01);
  });
});
