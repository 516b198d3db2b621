import { countedLine, decide, type Limits, measuredLine } from "./decision.ts";
import { responseOf, typical } from "./grid-load.ts";
import type { JudgedLine, JudgedStep, PointReading } from "./reading.ts";
import { type Budget, combined, rectangular, typeA } from "./uncertainty.ts";

interface CellValue {
  readonly cell: number;
  readonly value: number;
  readonly budget: Budget;
}

/** Every cell against the same limits: those that fail, whether any is unsettled, and the outermost of the rest. */
function judgeCells(
  cells: readonly CellValue[],
  limits: Limits,
  words: {
    readonly outside: string;
    readonly lowest: string;
    readonly highest: string;
    readonly unit: string;
  },
): JudgedStep {
  const decided = cells.map((cell) => ({
    ...cell,
    decision: decide(cell.value, cell.budget.expanded, limits),
  }));
  const bad = decided.filter(({ decision }) => decision === "fail").map(({ cell }) => cell);
  const unsettled = decided.some(({ decision }) => decision === "not-settled");
  const rest = decided.filter(({ decision }) => decision !== "fail").sort((a, b) => a.value - b.value);
  const outermost = (name: string, at: CellValue | undefined): readonly JudgedLine[] =>
    at === undefined
      ? []
      : [measuredLine({ name, unit: words.unit, value: at.value, budget: at.budget, limits })];
  return {
    lines: [
      countedLine(words.outside, bad.length, { low: null, high: 0 }, { maskable: true, unsettled }),
      ...outermost(words.lowest, rest[0]),
      ...outermost(words.highest, rest.at(-1)),
    ],
    badCells: bad,
    hazard: false,
  };
}

const cellSeries = (frames: readonly (readonly number[])[], cell: number): number[] =>
  frames.map((frame) => frame[cell] ?? 0);

/** @param absent places of the grid that hold no cell */
export function judgeEmptyMap(
  reading: PointReading,
  limits: Limits,
  absent: ReadonlySet<number>,
): JudgedStep {
  const cells = (reading.frames[0] ?? []).flatMap((_, cell) => {
    if (absent.has(cell)) return [];
    const { mean, standard, degreesOfFreedom } = typeA(cellSeries(reading.frames, cell));
    const budget = combined([
      { name: "repeats", standard, degreesOfFreedom },
      { name: "whole counts", standard: rectangular(0.5), degreesOfFreedom: null },
    ]);
    return [{ cell, value: mean, budget }];
  });
  return judgeCells(cells, limits, {
    outside: "Cells whose empty reading is outside",
    lowest: "Lowest empty reading",
    highest: "Highest empty reading",
    unit: "counts",
  });
}

/** Each cell's answer over the middle one of all, so that what is dead doesn't move the yardstick.
 *  @param known cells found bad before, which are not judged a second time, and places that hold none */
export function judgeEvenLoad(
  reading: PointReading,
  empty: readonly number[],
  limits: Limits,
  known: ReadonlySet<number>,
): JudgedStep {
  const { frames } = responseOf(reading, empty);
  const repeats = (frames[0] ?? []).map((_, cell) => typeA(cellSeries(frames, cell)));
  const usual = typical(repeats.filter((_, cell) => !known.has(cell)).map(({ mean }) => mean));
  if (usual <= 0)
    return {
      lines: [countedLine("Cells that answer", 0, { low: 1, high: null })],
      badCells: [],
      hazard: false,
    };
  const cells = repeats.flatMap(({ mean, standard, degreesOfFreedom }, cell) => {
    if (known.has(cell)) return [];
    const budget = combined([
      { name: "repeats", standard: standard / usual, degreesOfFreedom },
      { name: "whole counts", standard: (Math.SQRT2 * rectangular(0.5)) / usual, degreesOfFreedom: null },
    ]);
    return [{ cell, value: mean / usual, budget }];
  });
  return judgeCells(cells, limits, {
    outside: "Cells whose answer is outside",
    lowest: "Weakest answer over the usual one",
    highest: "Strongest answer over the usual one",
    unit: "",
  });
}
