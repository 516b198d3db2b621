import { describe, expect, test } from "vitest";
import { judgeThin } from "../../server/domain/verdicts/judge.ts";
import type { ThinContext } from "../../server/domain/verdicts/thin-context.ts";
import { at, plainThin, thresholds, zone } from "./plain-contexts.ts";

describe("thin stretches", () => {
  test("left leans vanished, dead column: the cushion could not see them", () => {
    const verdict = judgeThin(
      { ...plainThin, eyes: { hidden: ["left"], deadLine: "column 13, right side", drifted: false } },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("device");
    expect(verdict.causes[0]?.cause).toBe("line-dead");
    expect(verdict.sentence).toContain("could not have seen leans to the left");
  });

  const stirring = (count: number): ThinContext["stirs"] => ({
    count,
    minutes: 150,
    usual: { reliefs: 150, atReliefs: 141, elsewhere: 40, seatedMinutes: 7_800 },
  });

  test("left leans vanished, grid healthy: a change of the person's, in neutral words, with kind questions", () => {
    const verdict = judgeThin({ ...plainThin, stirs: stirring(0) }, thresholds, zone);
    expect(verdict.outcome).toBe("person");
    expect(verdict.causes[0]?.cause).toBe("fewer-done");
    expect(verdict.sentence).not.toMatch(/fail|complian|refus/i);
    expect(verdict.settle.find(({ test: name }) => name === "ring")?.wording).toContain("shoulders");
  });

  test("the same drop, but the load shifted and came back as it does with reliefs: the person is not named", () => {
    const verdict = judgeThin({ ...plainThin, stirs: stirring(5) }, thresholds, zone);
    expect(verdict.outcome).not.toBe("person");
    expect(verdict.evidence.find(({ clue }) => clue === "stirs")?.sentence).toContain(
      "shifted and came back 5 times without a relief being counted",
    );
  });

  test("the same drop, grid not assessed: the person is not named", () => {
    expect(judgeThin({ ...plainThin, eyes: null }, thresholds, zone).outcome).toBe("not-settled");
  });

  test("a direction blind and no earlier reliefs to go by is never put on the person", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: null,
        mix: null,
        load: null,
        tries: null,
        eyes: { hidden: ["right"], deadLine: "column 2, left side", drifted: false },
      },
      thresholds,
      zone,
    );
    expect(verdict.leadingSide).toBe("device");
  });

  test("not enough seen: two days are no habit, and no change is claimed from them", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: { earlier: { met: 9, due: 30, days: 2 }, lately: { met: 3, due: 14, days: 2 }, longAgo: null },
      },
      thresholds,
      zone,
    );
    expect(verdict.evidence.some(({ clue }) => clue === "change")).toBe(false);
  });

  test("a washed cover and a map on the other side point to the insert", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        mix: {
          earlier: { "lean-left": 80, "lean-forward": 20 },
          lately: { "lean-right": 12, "lean-forward": 4 },
        },
        load: { ratio: 1, turned: true },
        note: { kind: "washed-cover", from: at("2026-11-09T09:00Z") },
      },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("handling");
    expect(verdict.causes[0]?.cause).toBe("insert-moved");
  });

  test("one long sit in an otherwise steady record is called ordinary", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: {
          earlier: { met: 150, due: 220, days: 13 },
          lately: { met: 30, due: 46, days: 3 },
          longAgo: null,
        },
      },
      thresholds,
      zone,
    );
    expect(verdict.causes[0]?.cause).toBe("ordinary");
  });

  test("right leans that are a larger share of what little is left are no sign of a turned cushion", () => {
    const mix = (lately: ThinContext["mix"]) => judgeThin({ ...plainThin, mix: lately }, thresholds, zone);
    const earlier = { "lean-left": 140, "lean-forward": 8, "lean-right": 2 };
    const few = mix({ earlier, lately: { "lean-right": 3, "lean-forward": 5 } });
    expect(few.causes[0]?.cause).toBe("fewer-done");
    const turned = mix({ earlier, lately: { "lean-right": 30, "lean-forward": 2 } });
    expect(turned.causes[0]?.cause).toBe("insert-moved");
  });
});
