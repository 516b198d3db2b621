import type { UnitSerial, VisitId } from "../domain/ids.ts";
import type { CandidateUnit } from "../domain/lifecycle/suitability.ts";
import type { Database } from "../store/database.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { type UnitWithModel, unitBySerial, unitsIn } from "../store/units.ts";
import { unitsReservedForVisits } from "../store/visits.ts";

/** Everything in stock or reserved, as the matching rules see it. `forVisit`: its own reservation doesn't count. */
export function unitsToIssue(db: Database, forVisit: VisitId | null = null): readonly CandidateUnit[] {
  return asCandidates(db, unitsIn(db, ["in-stock", "reserved"]), forVisit);
}

/** One unit wherever it is; null when there is no such unit. */
export function candidateUnit(
  db: Database,
  serial: UnitSerial,
  forVisit: VisitId | null = null,
): CandidateUnit | null {
  const unit = unitBySerial(db, serial);
  return unit === null ? null : (asCandidates(db, [unit], forVisit)[0] ?? null);
}

function asCandidates(
  db: Database,
  units: readonly UnitWithModel[],
  forVisit: VisitId | null,
): readonly CandidateUnit[] {
  const barring = recallsBarringIssue(db);
  const reserved = unitsReservedForVisits(db);
  return units.map((unit) => {
    const visit = reserved.get(unit.serial);
    return {
      serial: unit.serial,
      modelName: unit.modelName,
      size: unit.size,
      place: unit.place,
      width: unit.width,
      depth: unit.depth,
      weightLimit: unit.weightLimit,
      barredBy: barring.get(unit.serial) ?? [],
      reservedElsewhere: visit !== undefined && visit !== forVisit,
    };
  });
}
