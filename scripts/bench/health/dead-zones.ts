import { findingsOf } from "../../../server/domain/condition/findings/findings-of.ts";
import type { FoundNow } from "../../../server/domain/condition/findings/found-now.ts";
import { type UnitHealth, unitHealth } from "../../../server/domain/condition/unit-health.ts";
import { instant } from "../../../server/domain/units.ts";
import type { Fault } from "../../simulated-cushions/faults.ts";
import { drawPerson } from "../../simulated-cushions/population.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";
import { footprint, type GridModel, restingLoad } from "../../simulated-cushions/seat-load.ts";
import { countsPerKilogram } from "../../simulated-cushions/sensor-grid.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { couldTell } from "./dead-line-oracle.ts";
import { fleetStart, type Lived, liveUnit } from "./fleet.ts";
import { gridMade } from "./overlay.ts";
import { recordUntil } from "./record-of.ts";
import { type BenchOptions, type Row, round, shareOf } from "./rows.ts";
import { tooFewToTell } from "./too-few-to-tell.ts";

/** What the console would say of a unit at `end`, from its last 28 days. */
export function healthAt({ record }: Pick<Lived, "record">, end: number): UnitHealth {
  const over = { start: instant(Math.max(fleetStart, end - 28 * day)), end: instant(end) };
  return unitHealth(recordUntil(record, end), over, [], instant(end));
}

export const foundAt = (lived: Pick<Lived, "record">, end: number): readonly FoundNow[] =>
  findingsOf(healthAt(lived, end)).found;

const breaksAfter = 8;

/** Counts above empty that this body puts on each cell, sitting in the middle: the simulation's own parameters. */
export function trueLoad(name: string, grid: GridModel): number[] {
  const { weightKilograms, leftOverRight } = drawPerson(name).habits;
  const load = restingLoad(weightKilograms, leftOverRight);
  const print = footprint(grid, 0);
  return Array.from(
    { length: grid.rows * grid.columns },
    (_, cell) =>
      countsPerKilogram *
      (load.leftBone * (print.leftBone[cell] ?? 0) +
        load.leftThigh * (print.leftThigh[cell] ?? 0) +
        load.rightBone * (print.rightBone[cell] ?? 0) +
        load.rightThigh * (print.rightThigh[cell] ?? 0)),
  );
}

const from = fleetStart + breaksAfter * day;

/** Every line of the grid is as likely to break as any other, whether this body loads it or not. */
export function deadLines({ quick, seed }: BenchOptions): Row {
  const units = quick ? 24 : 200;
  let found = 0;
  let visible = 0;
  let visibleFound = 0;
  for (let unit = 0; unit < units; unit++) {
    const name = `${seed}/line/${unit}`;
    const random = randomFrom(`${name}/fault`);
    let where: { line: "row" | "column"; index: number } = { line: "row", index: 0 };
    const lived = liveUnit(name, {
      days: breaksAfter + 3,
      faults: ({ rows, columns }): Fault[] => {
        const index = Math.floor(random.next() * (rows + columns));
        where = index < rows ? { line: "row", index } : { line: "column", index: index - rows };
        return where.line === "row"
          ? [{ kind: "row-open", from, row: where.index }]
          : [{ kind: "column-open", from, column: where.index }];
      },
    });
    const name1 = `${where.line} ${where.index + 1} of`;
    const hit = foundAt(lived, from + 3 * day).some(
      ({ kind, where: place }) => kind === `${where.line}-open` && place.startsWith(name1),
    );
    const { rows, columns } = lived.grid;
    const ofLine = Array.from({ length: rows * columns }, (_, cell) => cell).filter(
      (cell) => (where.line === "row" ? Math.floor(cell / columns) : cell % columns) === where.index,
    );
    const load = trueLoad(name, lived.grid);
    const telling = couldTell(lived.record, gridMade(name, lived.grid), load, ofLine, from);
    if (hit) found++;
    if (telling) visible++;
    if (telling && hit) visibleFound++;
  }
  const value = shareOf(found, units);
  return {
    name: "dead row or column found within 3 days of ordinary use",
    value: round(value),
    unit: "share",
    bar: ">= 0.98",
    holds: value >= 0.98,
    beside: `${units} units, every line equally likely; an oracle that knows the load and the noise could tell ${round(shareOf(visible, units))}; of those found ${round(shareOf(visibleFound, visible))}${tooFewToTell(found, units, [0.98])}`,
  };
}

interface CellCheck {
  readonly name: string;
  readonly label: string;
  readonly kind: "cell-open" | "cell-stuck";
  readonly days: number;
  readonly least: number;
  readonly units: number;
}

function brokenCells(check: CellCheck, seed: number): Row {
  let found = 0;
  for (let unit = 0; unit < check.units; unit++) {
    const name = `${seed}/${check.label}/${unit}`;
    const random = randomFrom(`${name}/fault`);
    let place = "";
    const lived = liveUnit(name, {
      days: breaksAfter + check.days,
      faults: (grid): Fault[] => {
        const load = trueLoad(name, grid);
        const most = Math.max(...load);
        // Under the loaded area: cells that carry at least a quarter of what the most loaded one does.
        const cells = load.flatMap((count, cell) =>
          check.kind === "cell-stuck" || count > most / 4 ? [cell] : [],
        );
        const cell = cells[Math.floor(random.next() * cells.length)] ?? 0;
        const row = Math.floor(cell / grid.columns);
        const column = cell % grid.columns;
        place = `row ${row + 1}, column ${column + 1}`;
        return check.kind === "cell-open"
          ? [{ kind: "cell-open", from, row, column }]
          : [{ kind: "cell-stuck", from, row, column, counts: Math.floor(random.uniform(90, 256)) }];
      },
    });
    if (
      foundAt(lived, from + check.days * day).some(
        ({ kind, where }) => kind === check.kind && where === place,
      )
    )
      found++;
  }
  const value = shareOf(found, check.units);
  return {
    name: check.name,
    value: round(value),
    unit: "share",
    bar: `>= ${check.least}`,
    holds: value >= check.least,
    beside: `${check.units} units${tooFewToTell(found, check.units, [check.least])}`,
  };
}

export const deadCells = ({ quick, seed }: BenchOptions): Row =>
  brokenCells(
    {
      name: "single dead cell under the loaded area within 14 days",
      label: "cell",
      kind: "cell-open",
      days: 14,
      least: 0.9,
      units: quick ? 10 : 100,
    },
    seed,
  );

export const stuckCells = ({ quick, seed }: BenchOptions): Row =>
  brokenCells(
    {
      name: "stuck or shorted cell within 2 days",
      label: "stuck",
      kind: "cell-stuck",
      days: 2,
      least: 0.98,
      units: quick ? 12 : 120,
    },
    seed,
  );
