import { describe, expect, it } from "vitest";
import {
  type BenchModel,
  badCellsOf,
  judgeStep,
  type StepsTaken,
  type StepTaken,
} from "../../server/domain/bench/judge-step.ts";
import { choicesFor, standingOf } from "../../server/domain/bench/outcome.ts";
import type { PointReading, StepFacts } from "../../server/domain/bench/reading.ts";
import type { StepId } from "../../server/domain/bench/steps.ts";
import { usualTolerances } from "../../server/domain/bench/tolerances.ts";
import { instant } from "../../server/domain/units.ts";

const model: BenchModel = {
  rows: 10,
  columns: 10,
  absent: new Set(),
  pitchMillimetres: 42,
  tolerances: usualTolerances,
};
const deadColumn = 6;

/** A grid with 8 counts everywhere, and so many kilograms spread as told. A little noise that repeats. */
function reading(
  point: string,
  options: {
    kilograms?: number;
    at?: readonly [row: number, column: number];
    dead?: number;
    celsius?: number;
    gain?: number;
    minute?: number;
  } = {},
): PointReading {
  const { kilograms = 0, at, dead, celsius = 22, gain = 1, minute = 0 } = options;
  const weights = Array.from({ length: 100 }, (_, cell) => {
    if (at === undefined) return 1;
    const [row, column] = [Math.floor(cell / 10), cell % 10];
    return Math.exp(-((row - at[0]) ** 2 + (column - at[1]) ** 2) / 3);
  });
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const frames = [0, 1, 2, 3].map((turn) =>
    weights.map((weight, cell) => {
      const pressed = cell % 10 === dead ? 0 : (30 * gain * kilograms * weight) / total;
      return Math.round(8 + pressed + ((cell * 7 + turn * 3) % 5 === 0 ? 0.6 : -0.1));
    }),
  );
  const load = { equipment: "weight", kilograms, certificate: 0.001, resolution: 0 };
  return {
    point,
    takenAt: instant(minute * 60_000),
    rows: 10,
    columns: 10,
    frames,
    temperature: celsius,
    reference: kilograms === 0 ? null : load,
  };
}

function taken(dead?: number, facts: StepFacts = {}): StepsTaken {
  const at = (id: string): readonly [number, number] => {
    if (id === "middle") return [4.5, 4.5];
    return [id.startsWith("front") ? 2 : 7, id.endsWith("left") ? 2 : 7];
  };
  const of = (options: Parameters<typeof reading>[1]) => ({
    ...options,
    ...(dead === undefined ? {} : { dead }),
  });
  const even = (point: string, kilograms: number, more: Parameters<typeof reading>[1] = {}) =>
    reading(point, of({ kilograms, ...more }));
  const steps: readonly (readonly [StepId, readonly PointReading[], StepFacts])[] = [
    [
      "identity",
      [],
      { identity: { firmware: "2.4.1", rows: 10, columns: 10, recalledBy: [], certificateDays: 14 } },
    ],
    [
      "line-sweep",
      [],
      {
        sweep: {
          cellsTested: 100,
          failedCells: [],
          cellsFailed: dead === undefined ? 0 : 10,
          failedRows: [],
          failedColumns: dead === undefined ? [] : [dead],
        },
      },
    ],
    ["empty-map", [reading("empty")], {}],
    ["uniform-load", [even("even", 80)], {}],
    [
      "known-weights",
      ["middle", "front-left", "front-right", "rear-left", "rear-right"].map((id) =>
        even(id, 20, { at: at(id) }),
      ),
      {},
    ],
    [
      "rise-and-fall",
      [
        even("up-low", 25),
        even("up-middle", 50),
        even("top", 80),
        even("down-middle", 50),
        even("down-low", 25),
      ],
      {},
    ],
    ["hold", [even("begin", 80), even("end", 80, { gain: 1.03, minute: 6 })], {}],
    [
      "second-temperature",
      [reading("warm-empty", { celsius: 34 }), even("warm-load", 80, { celsius: 34, gain: 1.02 })],
      {},
    ],
    ["cable-flex", [even("flexed", 80)], { flexSeen: "nothing" }],
    [
      "lean-test",
      [
        even("rest", 60, { at: [5, 4.5] }),
        even("left", 60, { at: [5, 2.5] }),
        even("right", 60, { at: [5, 6.5] }),
        even("forward", 60, { at: [3, 4.5] }),
      ],
      {},
    ],
    ["battery", [], { battery: { millivolts: 3_900, temperature: 22, hazardSeen: false } }],
  ];
  const all = new Map<StepId, StepTaken>();
  for (const [id, readings, own] of steps) {
    const now = { readings, facts: { ...own, ...facts } };
    all.set(id, { ...now, judged: judgeStep(id, now, all, model) });
  }
  return all;
}

const decisions = (steps: StepsTaken, id: StepId) =>
  Object.fromEntries((steps.get(id)?.judged?.lines ?? []).map(({ name, decision }) => [name, decision]));
const allowed = (steps: StepsTaken) =>
  choicesFor(standingOf(steps), 100, usualTolerances.maskedShare, { kind: "never-lent" })
    .filter(({ against }) => against.length === 0)
    .map(({ outcome }) => outcome);

describe("a session at the bench", () => {
  it("lets a sound cushion pass, and has nothing to mask", () => {
    const steps = taken();
    expect(standingOf(steps)).toEqual({ notDone: [], unsettled: [], failed: [], masked: [], hazard: false });
    expect(allowed(steps)).toEqual(["pass", "repair", "retire"]);
  });

  it("a dead column may pass with its cells masked: weights still read right across it, and leans show", () => {
    const steps = taken(deadColumn);
    expect([...badCellsOf(steps)].sort((a, b) => a - b)).toEqual(
      Array.from({ length: 10 }, (_, row) => 10 * row + deadColumn),
    );
    expect(decisions(steps, "line-sweep")["Columns that carry no current"]).toBe("fail");
    expect(standingOf(steps).failed).toEqual([]);
    expect(allowed(steps)).toEqual(["pass-masked", "repair", "retire"]);
  });

  it("finds the dead column by the even load alone, where the unit’s own test said nothing", () => {
    const steps = new Map(taken(deadColumn));
    steps.set("line-sweep", { readings: [], facts: {}, judged: { lines: [], badCells: [], hazard: false } });
    const even = steps.get("uniform-load");
    if (even === undefined) throw new Error("no even load");
    const judged = judgeStep("uniform-load", even, steps, model);
    expect(judged?.badCells).toHaveLength(10);
    expect(judged?.lines[0]).toMatchObject({ value: 10, decision: "fail", maskable: true });
  });

  it("more than the model allows can’t be masked", () => {
    const choices = choicesFor(
      {
        notDone: [],
        unsettled: [],
        failed: [],
        masked: Array.from({ length: 20 }, (_, cell) => cell),
        hazard: false,
      },
      100,
      0.1,
      { kind: "never-lent" },
    );
    expect(choices.find(({ outcome }) => outcome === "pass-masked")?.against).toEqual([
      "20 cells would be masked; this model allows 10.",
    ]);
  });

  it("a weight that reads a third too much is repaired, not passed", () => {
    const steps = new Map(taken());
    const weights = steps.get("known-weights");
    const wrong = weights?.readings.map((each) =>
      each.point === "rear-left"
        ? { ...reading("rear-left", { kilograms: 27, at: [7, 2] }), reference: each.reference }
        : each,
    );
    const now = { readings: wrong ?? [], facts: {} };
    steps.set("known-weights", { ...now, judged: judgeStep("known-weights", now, steps, model) });
    expect(decisions(steps, "known-weights")["rear left: error of 20 kg"]).toBe("fail");
    expect(allowed(steps)).toEqual(["repair", "retire"]);
  });

  it("a hold cut short settles nothing, and a swollen battery ends every thought of a pass", () => {
    const steps = new Map(taken());
    const hold = steps.get("hold");
    const short = (hold?.readings ?? []).map((each) => ({ ...each, takenAt: instant(0) }));
    steps.set("hold", {
      readings: short,
      facts: {},
      judged: judgeStep("hold", { readings: short, facts: {} }, steps, model),
    });
    expect(standingOf(steps).unsettled).toEqual(["hold"]);
    const battery = {
      readings: [],
      facts: { battery: { millivolts: 3_900, temperature: 22, hazardSeen: true } },
    };
    steps.set("battery", { ...battery, judged: judgeStep("battery", battery, steps, model) });
    expect(standingOf(steps).hazard).toBe(true);
    expect(allowed(steps)).toEqual(["repair", "retire"]);
  });
});
