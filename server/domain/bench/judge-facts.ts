import { countedLine, measuredLine } from "./decision.ts";
import type { BenchModel } from "./judge-step.ts";
import type { JudgedStep, StepFacts } from "./reading.ts";
import type { BenchTolerances } from "./tolerances.ts";
import { combined, rectangular } from "./uncertainty.ts";

const exactly = (count: number) => ({ low: count, high: count });

export function judgeIdentity(
  { identity }: StepFacts,
  model: { readonly rows: number; readonly columns: number },
): JudgedStep {
  const heard = identity?.firmware != null;
  return {
    lines: [
      countedLine(
        "Answers with its own certificate",
        heard ? 1 : 0,
        { low: heard ? 1 : null, high: null },
        { unsettled: !heard },
      ),
      ...(identity?.rows == null
        ? []
        : [countedLine("Rows of its grid", identity.rows, exactly(model.rows))]),
      ...(identity?.columns == null
        ? []
        : [countedLine("Columns of its grid", identity.columns, exactly(model.columns))]),
      countedLine("Recalls that hold it back", identity?.recalledBy.length ?? 0, { low: null, high: 0 }),
    ],
    badCells: [],
    hazard: false,
  };
}

/** A place that holds no cell may be tested or left out, and fails if it is tested: neither says anything. */
export function judgeSweep(
  { sweep }: StepFacts,
  { rows, columns, absent }: Pick<BenchModel, "rows" | "columns" | "absent">,
): JudgedStep {
  if (sweep === undefined)
    return {
      lines: [countedLine("Self-tests that came", 0, { low: null, high: null }, { unsettled: true })],
      badCells: [],
      hazard: false,
    };
  const none = { low: null, high: 0 };
  const bad = new Set<number>(sweep.failedCells);
  for (const row of sweep.failedRows)
    for (let column = 0; column < columns; column += 1) bad.add(row * columns + column);
  for (const column of sweep.failedColumns)
    for (let row = 0; row < rows; row += 1) bad.add(row * columns + column);
  const absentFailed = sweep.failedCells.filter((cell) => absent.has(cell)).length;
  const places = rows * columns;
  return {
    lines: [
      countedLine("Rows that carry no current", sweep.failedRows.length, none, { maskable: true }),
      countedLine("Columns that carry no current", sweep.failedColumns.length, none, { maskable: true }),
      countedLine("Cells that failed the unit’s own test", sweep.cellsFailed - absentFailed, none, {
        maskable: true,
      }),
      countedLine("Cells tested", sweep.cellsTested, { low: places - absent.size, high: places }),
    ],
    badCells: [...bad].filter((cell) => !absent.has(cell)).sort((a, b) => a - b),
    hazard: false,
  };
}

/** The unit's own voltmeter. Assumption: within this either way. */
const voltmeterMillivolts = 20;
const thermometerDegrees = 1;

export function judgeBattery({ battery }: StepFacts, tolerances: BenchTolerances): JudgedStep {
  if (battery === undefined)
    return {
      lines: [countedLine("Voltages that came", 0, { low: null, high: null }, { unsettled: true })],
      badCells: [],
      hazard: false,
    };
  const typeB = (halfWidth: number) =>
    combined([{ name: "the unit’s own meter", standard: rectangular(halfWidth), degreesOfFreedom: null }]);
  return {
    lines: [
      measuredLine({
        name: "Voltage at rest",
        unit: "mV",
        value: battery.millivolts,
        budget: typeB(voltmeterMillivolts),
        limits: { low: tolerances.cellLowMillivolts, high: tolerances.cellHighMillivolts },
      }),
      measuredLine({
        name: "Temperature",
        unit: "°C",
        value: battery.temperature,
        budget: typeB(thermometerDegrees),
        limits: { low: null, high: tolerances.cellHighTemperature },
      }),
      countedLine("Swelling, leak, smell, heat or wet seen", battery.hazardSeen ? 1 : 0, {
        low: null,
        high: 0,
      }),
    ],
    badCells: [],
    hazard: battery.hazardSeen || battery.temperature > tolerances.cellHighTemperature,
  };
}
