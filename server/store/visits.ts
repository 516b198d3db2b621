import { and, asc, eq, isNotNull, isNull, type SQL } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import type { LoanId, StaffId, UnitSerial, VisitId } from "../domain/ids.ts";
import type { LocalDay } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { model, unit } from "./schema/equipment.ts";
import { borrower, loan } from "./schema/loans.ts";
import { visit } from "./schema/recalls.ts";
import { staff } from "./schema/staff.ts";

export type VisitRow = typeof visit.$inferSelect;
export type VisitStatus = VisitRow["status"];

const replacement = alias(unit, "replacement");
const replacementModel = alias(model, "replacement_model");

const visitsWhere = (db: Database, condition: SQL | undefined) =>
  db
    .select({
      id: visit.id,
      kind: visit.kind,
      loanId: visit.loanId,
      day: visit.day,
      doneBy: visit.doneBy,
      replacementSerial: visit.replacementSerial,
      reason: visit.reason,
      status: visit.status,
      createdAt: visit.createdAt,
      closedAt: visit.closedAt,
      doneByName: staff.name,
      loanReference: loan.reference,
      unitSerial: loan.unitSerial,
      unitSize: model.size,
      borrowerName: borrower.name,
      area: borrower.area,
      address: borrower.address,
      phone: borrower.phone,
      replacementSize: replacementModel.size,
    })
    .from(visit)
    .innerJoin(staff, eq(staff.id, visit.doneBy))
    .innerJoin(loan, eq(loan.id, visit.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .innerJoin(unit, eq(unit.serial, loan.unitSerial))
    .innerJoin(model, eq(model.id, unit.modelId))
    .leftJoin(replacement, eq(replacement.serial, visit.replacementSerial))
    .leftJoin(replacementModel, eq(replacementModel.id, replacement.modelId))
    .where(condition)
    .orderBy(asc(visit.day), asc(visit.createdAt), asc(visit.id));

export type VisitInFull = ReturnType<ReturnType<typeof visitsWhere>["all"]>[number];

export const visitById = (db: Database, id: VisitId): VisitInFull | null =>
  visitsWhere(db, eq(visit.id, id)).get() ?? null;

/** Earliest day first. */
export const plannedVisits = (db: Database): readonly VisitInFull[] =>
  visitsWhere(db, eq(visit.status, "planned")).all();

export const plannedVisitOfLoan = (db: Database, id: LoanId): VisitInFull | null =>
  visitsWhere(db, and(eq(visit.loanId, id), eq(visit.status, "planned"))).get() ?? null;

export const visitsOfLoan = (db: Database, id: LoanId): readonly VisitInFull[] =>
  visitsWhere(db, eq(visit.loanId, id)).all();

export const plannedVisitsOf = (db: Database, person: StaffId, day: LocalDay): readonly VisitInFull[] =>
  visitsWhere(db, and(eq(visit.doneBy, person), eq(visit.day, day), eq(visit.status, "planned"))).all();

/** Where someone went and could not do the visit, while the loan is still open. */
export const visitsWithoutAccess = (db: Database): readonly VisitInFull[] =>
  visitsWhere(db, and(eq(visit.status, "no-access"), isNull(loan.endedAt))).all();

/** Units that a planned visit will bring, with the visit that reserves each. */
export const unitsReservedForVisits = (db: Database): ReadonlyMap<UnitSerial, VisitId> =>
  new Map(
    db
      .select({ serial: visit.replacementSerial, id: visit.id })
      .from(visit)
      .where(and(eq(visit.status, "planned"), isNotNull(visit.replacementSerial)))
      .all()
      .flatMap(({ serial, id }) => (serial === null ? [] : [[serial, id] as const])),
  );

export function insertVisit(db: Database, row: VisitRow): void {
  db.insert(visit).values(row).run();
}

/** @returns false when the visit was no longer planned. */
export function closeVisit(
  db: Database,
  id: VisitId,
  status: Exclude<VisitStatus, "planned">,
  at: Instant,
): boolean {
  const result = db
    .update(visit)
    .set({ status, closedAt: at })
    .where(and(eq(visit.id, id), eq(visit.status, "planned")))
    .run();
  return result.changes === 1;
}
