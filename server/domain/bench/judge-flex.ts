import { countedLine, measuredLine } from "./decision.ts";
import { countingOf, responseOf } from "./grid-load.ts";
import type { LoadContext } from "./judge-loads.ts";
import type { JudgedStep, PointReading, StepFacts } from "./reading.ts";
import { combined } from "./uncertainty.ts";

interface LineSpread {
  readonly cells: readonly number[];
  /** Greatest less least of the line's sum, over its mean. */
  readonly spread: number;
  readonly standard: number;
}

/** The line that wavers most while the cable is bent. Lines that were found bad before are not judged again. */
export function judgeFlex(
  reading: PointReading,
  context: LoadContext,
  flexSeen: StepFacts["flexSeen"],
): JudgedStep {
  const { frames, rows, columns } = responseOf(reading, context.empty);
  const allowed = context.tolerances.flexSpread;
  const spreads = linesOf(rows, columns)
    .map((cells) => cells.filter((cell) => !context.bad.has(cell)))
    .filter((cells) => cells.length > 0)
    .map((cells) => spreadOf(frames, cells));
  const worst = [...spreads].sort((a, b) => b.spread - a.spread)[0];
  const budget = combined([{ name: "whole counts", standard: worst?.standard ?? 0, degreesOfFreedom: null }]);
  return {
    lines: [
      measuredLine({
        name: "Greatest spread of a line",
        unit: "of its mean",
        value: worst?.spread ?? 0,
        budget,
        limits: { low: null, high: allowed },
      }),
      countedLine(
        "Damage seen at cable or plug",
        flexSeen === "damage" ? 1 : 0,
        { low: null, high: 0 },
        { unsettled: flexSeen === undefined },
      ),
    ],
    badCells: [],
    hazard: false,
  };
}

function spreadOf(frames: readonly (readonly number[])[], cells: readonly number[]): LineSpread {
  const sums = frames.map((frame) => cells.reduce((sum, cell) => sum + (frame[cell] ?? 0), 0));
  const mean = sums.reduce((sum, each) => sum + each, 0) / sums.length;
  if (mean <= 0) return { cells, spread: 0, standard: 0 };
  return {
    cells,
    spread: (Math.max(...sums) - Math.min(...sums)) / mean,
    standard: countingOf(cells.length) / mean,
  };
}

function linesOf(rows: number, columns: number): number[][] {
  const upTo = (end: number): number[] => Array.from({ length: end }, (_, index) => index);
  return [
    ...upTo(rows).map((row) => upTo(columns).map((column) => row * columns + column)),
    ...upTo(columns).map((column) => upTo(rows).map((row) => row * columns + column)),
  ];
}
