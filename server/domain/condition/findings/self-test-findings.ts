import type { RecordedSelfTest } from "../../record/told-events.ts";
import { type CellState, works } from "../../sensor-grid/cell-states.ts";
import { probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** A line that carries no current when it is driven is hardly ever imagined. Assumption. */
const believed = probability(0.92);
const mostNamed = 4;

/** The unit's own test of its grid, as it stood last: what failed once and passed since was a moment. One fault is one
 *  finding: where ordinary use has shown the same places broken, the test only says so again. */
export function selfTestFindings({ selfTests, grid }: UnitHealth): FoundNow[] {
  const last = selfTests.at(-1);
  if (last === undefined || last.passed || (grid && isKnown(last, grid.states))) return [];
  const lastPassed = selfTests.findLastIndex(({ passed }) => passed);
  const first = selfTests[lastPassed + 1] ?? last;
  const times = selfTests.length - lastPassed - 1;
  return [
    {
      kind: "self-test-failed",
      where: "",
      level: "act-soon",
      probability: believed,
      since: first.at,
      sentence: `Its own test of the grid failed${times === 1 ? "" : ` ${times} times running`}: ${failedParts(last)}. What lies there may go unseen.`,
      mistakenFor: "a connector that was loose for a moment",
      settledBy: "Ask it for another self-test; if that fails too, a line sweep on the bench.",
    },
  ];
}

function isKnown({ columns, rows, ...failed }: RecordedSelfTest, states: readonly CellState[]): boolean {
  const cells = new Set(failed.failedCells);
  for (const row of failed.failedRows)
    for (let column = 0; column < columns; column += 1) cells.add(row * columns + column);
  for (const column of failed.failedColumns)
    for (let row = 0; row < rows; row += 1) cells.add(row * columns + column);
  const broken = (cell: number): boolean => {
    const state = states[cell];
    return state !== undefined && !works(state);
  };
  return cells.size > 0 && [...cells].every(broken);
}

/** Counted from 1, as on the label: the front row and the person's left column come first. */
function failedParts({ failedRows, failedColumns, failedCells, cellsFailed }: RecordedSelfTest): string {
  const lines = [
    ...failedRows.map((row) => `row ${row + 1}`),
    ...failedColumns.map((column) => `column ${column + 1}`),
  ];
  const named = lines.slice(0, mostNamed);
  if (lines.length > named.length) named.push(`${lines.length - named.length} more lines`);
  const cells = Math.max(cellsFailed, failedCells.length);
  if (cells > 0) named.push(cells === 1 ? "1 cell" : `${cells} cells`);
  return named.length === 0 ? "it does not say where" : named.join(", ");
}
