import { meanMap } from "./grid-load.ts";
import { judgeEmptyMap, judgeEvenLoad } from "./judge-cells.ts";
import { judgeBattery, judgeIdentity, judgeSweep } from "./judge-facts.ts";
import { judgeFlex } from "./judge-flex.ts";
import {
  judgeHold,
  judgeHysteresis,
  judgeKnownWeight,
  judgeLean,
  judgeTemperature,
  type LoadContext,
} from "./judge-loads.ts";
import type { JudgedLine, JudgedStep, PointReading, StepFacts } from "./reading.ts";
import { type StepId, stepById } from "./steps.ts";
import type { BenchTolerances } from "./tolerances.ts";

export interface StepTaken {
  readonly readings: readonly PointReading[];
  readonly facts: StepFacts;
  readonly judged: JudgedStep | null;
}

export interface BenchModel {
  readonly rows: number;
  readonly columns: number;
  readonly pitchMillimetres: number;
  /** Places of the grid that hold no cell. */
  readonly absent: ReadonlySet<number>;
  readonly tolerances: BenchTolerances;
}

/** How many cells the grid has. */
export const cellsOf = ({ rows, columns, absent }: BenchModel): number => rows * columns - absent.size;

/** Every step's newest attempt so far. */
export type StepsTaken = ReadonlyMap<StepId, StepTaken>;

/** Cells that the steps before have found bad, and that later ones leave out. */
export function badCellsOf(taken: StepsTaken): ReadonlySet<number> {
  const finding: readonly StepId[] = ["line-sweep", "empty-map", "uniform-load"];
  return new Set(finding.flatMap((id) => taken.get(id)?.judged?.badCells ?? []));
}

export const emptyMapOf = (taken: StepsTaken): number[] | null => {
  const [reading] = taken.get("empty-map")?.readings ?? [];
  return reading === undefined ? null : meanMap(reading);
};

const lines = (judged: readonly JudgedLine[]): JudgedStep => ({ lines: judged, badCells: [], hazard: false });

/** @param taken the other steps, for the empty map and what was found bad; @param now what was read for this one
 *  @returns null while a reading is still missing */
export function judgeStep(
  step: StepId,
  now: Omit<StepTaken, "judged">,
  taken: StepsTaken,
  model: BenchModel,
): JudgedStep | null {
  const points = new Map(now.readings.map((reading) => [reading.point, reading]));
  if (stepById(step).points.some(({ id }) => !points.has(id))) return null;
  const { tolerances, pitchMillimetres } = model;
  switch (step) {
    case "identity":
      return judgeIdentity(now.facts, model);
    case "line-sweep":
      return judgeSweep(now.facts, model);
    case "battery":
      return judgeBattery(now.facts, tolerances);
    case "empty-map": {
      const empty = points.get("empty");
      const limits = { low: tolerances.emptyLow, high: tolerances.emptyHigh };
      return empty ? judgeEmptyMap(empty, limits, model.absent) : null;
    }
  }
  const empty = emptyMapOf(taken);
  // Without an empty map nothing that was loaded means anything.
  if (empty === null) return null;
  const earlier: StepsTaken = new Map([...taken].filter(([id]) => id !== step));
  const bad = new Set([...badCellsOf(earlier), ...model.absent]);
  const context: LoadContext = { tolerances, pitchMillimetres, empty, bad };
  return judgeLoaded(step, now, points, earlier, context);
}

function judgeLoaded(
  step: Exclude<StepId, "identity" | "line-sweep" | "battery" | "empty-map">,
  now: Omit<StepTaken, "judged">,
  points: ReadonlyMap<string, PointReading>,
  taken: StepsTaken,
  context: LoadContext,
): JudgedStep | null {
  const { tolerances, empty, bad } = context;
  switch (step) {
    case "uniform-load": {
      const even = points.get("even");
      const limits = { low: tolerances.cellLow, high: tolerances.cellHigh };
      return even ? judgeEvenLoad(even, empty, limits, bad) : null;
    }
    case "known-weights":
      return lines(now.readings.flatMap((reading) => judgeKnownWeight(reading, context)));
    case "rise-and-fall":
      return lines(judgeHysteresis(points, context));
    case "hold": {
      const [begin, end] = [points.get("begin"), points.get("end")];
      return begin && end ? lines(judgeHold(begin, end, context)) : null;
    }
    case "second-temperature": {
      const even = taken.get("uniform-load")?.readings[0];
      const [warmEmpty, warmLoad] = [points.get("warm-empty"), points.get("warm-load")];
      return even && warmEmpty && warmLoad
        ? lines(judgeTemperature(even, warmEmpty, warmLoad, context))
        : null;
    }
    case "cable-flex": {
      const flexed = points.get("flexed");
      return flexed ? judgeFlex(flexed, context, now.facts.flexSeen) : null;
    }
    case "lean-test": {
      const rest = points.get("rest");
      const leans = now.readings.filter(({ point }) => point !== "rest");
      return rest ? lines(leans.map((lean) => judgeLean(rest, lean, context))) : null;
    }
  }
}
