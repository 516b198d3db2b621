import { type CellDescription, describedCell, usualCell } from "../domain/battery/cell-description.ts";
import type { BaselineChange } from "../domain/condition/baseline-change.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type MaskedCells, maskedOn } from "../domain/sensor-grid/masked-cells.ts";
import { dayBounds, daysTouched, type ZoneName } from "../domain/time/local-day.ts";
import { after, type Instant, instant, milliseconds, millisecondsIn, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { benchBaselineOf } from "../store/bench-results.ts";
import { lastBenchSessionOf, lastPassOf, openBenchSessionOf } from "../store/bench-sessions.ts";
import type { Database } from "../store/database.ts";
import { baselineChanges, lastLendingOf } from "../store/health-basis.ts";
import { batteryDescriptionOf, gridOf } from "../store/models.ts";

/** What of a unit's record says how it is. */
export interface Assessed {
  /** The loan that goes on, or the last one that began; null: it was never lent, and nothing is kept of its days. */
  readonly loan: string | null;
  readonly over: Span;
  /** Washes, another chair, the bench: what came before can't be compared with what came after. Ascending. */
  readonly changes: readonly BaselineChange[];
  /** Cells with which it last passed the bench though they don't count, and those its model lacks; null: none. */
  readonly masked: MaskedCells | null;
  /** By its model's description. */
  readonly cell: CellDescription;
}

const withoutLoan = 28 * 24 * millisecondsIn.hour;

/** A unit's clock may run a little ahead of ours: what it says happened "now" must not wait. */
const clockAhead = milliseconds(millisecondsIn.minute);

/** The loan going on, or the last one that began: what a unit did under somebody else says little. Without any, the last
 *  28 days. Weights on a bench are not a person on a seat: a session there ends the stretch, and a pass begins one that
 *  is of no loan yet. */
export function assessed({ db }: Pick<Services, "db">, unit: UnitSerial, now: Instant): Assessed {
  const last = lastLendingOf(db, unit);
  const own = { masked: maskedCells(db, unit), cell: cellOf(db, unit) };
  const passedAt = lastPassOf(db, unit)?.endedAt ?? null;
  if (last === null || (passedAt !== null && passedAt > last.startedAt)) {
    const start = instant(Math.max(now - withoutLoan, passedAt ?? 0));
    return { loan: null, over: { start, end: endBefore(db, unit, start, now) }, changes: [], ...own };
  }
  const changes = baselineChanges(db, unit, last.reference).filter(({ at }) => at > last.startedAt);
  return {
    loan: last.reference,
    over: { start: last.startedAt, end: endBefore(db, unit, last.startedAt, now) },
    changes: [...changes].sort((a, b) => a.at - b.at),
    ...own,
  };
}

function maskedCells(db: Database, unit: UnitSerial): MaskedCells | null {
  const pass = benchBaselineOf(db, unit);
  const passed = pass === null ? null : { rows: pass.rows, columns: pass.columns, cells: pass.masked };
  const grid = gridOf(db, unit);
  if (grid === null || grid.absent.length === 0) return passed;
  const { rows, columns, absent } = grid;
  return { rows, columns, cells: [...new Set([...absent, ...maskedOn(passed, grid)])] };
}

function cellOf(db: Database, unit: UnitSerial): CellDescription {
  const described = batteryDescriptionOf(db, unit);
  return described === null ? usualCell : describedCell(described);
}

/** Now, or the beginning of the session at the bench that came after `start`. */
function endBefore(db: Database, unit: UnitSerial, start: Instant, now: Instant): Instant {
  const bench = openBenchSessionOf(db, unit) ?? lastBenchSessionOf(db, unit);
  const end = after(now, clockAhead);
  return bench !== null && bench.startedAt >= start ? instant(Math.min(end, bench.startedAt)) : end;
}

/** Local days that tile `over`, the first and last cut to it. */
export function localDaysOf(over: Span, zone: ZoneName): Span[] {
  let start = over.start;
  return daysTouched(over, zone).map((day) => {
    // Each begins where the one before ended: midnights are dear to work out.
    const end = instant(Math.min(over.end, dayBounds(day, zone).end));
    const cut = { start, end };
    start = end;
    return cut;
  });
}
