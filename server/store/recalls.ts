import { and, asc, count, desc, eq, isNull, ne, or, sql } from "drizzle-orm";
import type { LoanId, RecallId, StaffId, UnitSerial } from "../domain/ids.ts";
import type { RecallOutcome } from "../domain/lifecycle/recall-balance.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { model, unit } from "./schema/equipment.ts";
import { borrower, loan } from "./schema/loans.ts";
import { recall, recallUnit } from "./schema/recalls.ts";
import { staff } from "./schema/staff.ts";

export type RecallRow = typeof recall.$inferSelect;
export type RecallUnitRow = typeof recallUnit.$inferSelect;

export const recallById = (db: Database, id: RecallId): RecallRow | null =>
  db.select().from(recall).where(eq(recall.id, id)).get() ?? null;

/** Open ones first, newest first, with how many units are on each list and how many are outstanding. */
export const allRecalls = (db: Database) =>
  db
    .select({
      id: recall.id,
      reference: recall.reference,
      title: recall.title,
      criterion: recall.criterion,
      criterionValue: recall.criterionValue,
      openedAt: recall.openedAt,
      closedAt: recall.closedAt,
      affected: count(recallUnit.unitSerial),
      outstanding: sql<number>`coalesce(sum(${recallUnit.outcome} = 'outstanding'), 0)`,
    })
    .from(recall)
    .leftJoin(recallUnit, eq(recallUnit.recallId, recall.id))
    .groupBy(recall.id)
    .orderBy(sql`${recall.closedAt} is not null`, desc(recall.openedAt))
    .all();

/** The list of a recall: each unit with its outcome, where it is, and who signed for it. */
export const unitsOfRecall = (db: Database, id: RecallId) =>
  db
    .select({
      serial: recallUnit.unitSerial,
      outcome: recallUnit.outcome,
      note: recallUnit.note,
      signedOffBy: recallUnit.signedOffBy,
      signedOffName: staff.name,
      changedAt: recallUnit.changedAt,
      place: unit.place,
      lotId: unit.lotId,
      firmware: unit.firmware,
      modelName: model.name,
      size: model.size,
    })
    .from(recallUnit)
    .innerJoin(unit, eq(unit.serial, recallUnit.unitSerial))
    .innerJoin(model, eq(model.id, unit.modelId))
    .leftJoin(staff, eq(staff.id, recallUnit.signedOffBy))
    .where(eq(recallUnit.recallId, id))
    .orderBy(sql`${recallUnit.outcome} <> 'outstanding'`, asc(recallUnit.unitSerial))
    .all();

export const recallUnitOf = (db: Database, id: RecallId, serial: UnitSerial): RecallUnitRow | null =>
  db
    .select()
    .from(recallUnit)
    .where(and(eq(recallUnit.recallId, id), eq(recallUnit.unitSerial, serial)))
    .get() ?? null;

const meetsCriterion = or(
  and(eq(recall.criterion, "lot"), eq(unit.lotId, recall.criterionValue)),
  and(eq(recall.criterion, "firmware"), eq(unit.firmware, recall.criterionValue)),
);

/** Units that meet an open recall's criterion without being on its list: a lot grows, a firmware is reported late. */
export const unitsMatchingUnlisted = (db: Database, id: RecallId): readonly UnitSerial[] =>
  db
    .select({ serial: unit.serial })
    .from(recall)
    .innerJoin(unit, meetsCriterion)
    .leftJoin(recallUnit, and(eq(recallUnit.recallId, recall.id), eq(recallUnit.unitSerial, unit.serial)))
    .where(and(eq(recall.id, id), isNull(recallUnit.unitSerial)))
    .orderBy(asc(unit.serial))
    .all()
    .map((row) => row.serial);

/** For each unit barred from issue, the recalls that bar it. A unit is barred while its recall is open, and for good
 *  unless it was corrected: closing a recall says that every unit is accounted for, not that it is safe again. */
export function recallsBarringIssue(db: Database): ReadonlyMap<UnitSerial, readonly string[]> {
  const listed = db
    .select({ serial: recallUnit.unitSerial, reference: recall.reference })
    .from(recallUnit)
    .innerJoin(recall, eq(recall.id, recallUnit.recallId))
    .where(ne(recallUnit.outcome, "corrected-in-place"))
    .all();
  const unlisted = db
    .select({ serial: unit.serial, reference: recall.reference })
    .from(recall)
    .innerJoin(unit, meetsCriterion)
    .leftJoin(recallUnit, and(eq(recallUnit.recallId, recall.id), eq(recallUnit.unitSerial, unit.serial)))
    .where(and(isNull(recall.closedAt), isNull(recallUnit.unitSerial)))
    .all();
  const barring = new Map<UnitSerial, string[]>();
  for (const { serial, reference } of [...listed, ...unlisted]) {
    barring.set(serial, [...(barring.get(serial) ?? []), reference]);
  }
  return barring;
}

export function insertRecall(db: Database, row: RecallRow): void {
  db.insert(recall).values(row).run();
}

export function listUnitsInRecall(
  db: Database,
  id: RecallId,
  serials: readonly UnitSerial[],
  at: Instant,
): void {
  for (const unitSerial of serials) {
    db.insert(recallUnit)
      .values({
        recallId: id,
        unitSerial,
        outcome: "outstanding",
        note: "",
        signedOffBy: null,
        changedAt: at,
      })
      .run();
  }
}

export function setRecallOutcome(
  db: Database,
  id: RecallId,
  serial: UnitSerial,
  change: { outcome: RecallOutcome; note: string; changedAt: Instant },
): void {
  // A new outcome needs a new signature: the old one answered for something else.
  db.update(recallUnit)
    .set({ ...change, signedOffBy: null })
    .where(and(eq(recallUnit.recallId, id), eq(recallUnit.unitSerial, serial)))
    .run();
}

export function setRecallSignOff(
  db: Database,
  id: RecallId,
  serial: UnitSerial,
  by: StaffId,
  at: Instant,
): void {
  db.update(recallUnit)
    .set({ signedOffBy: by, changedAt: at })
    .where(and(eq(recallUnit.recallId, id), eq(recallUnit.unitSerial, serial)))
    .run();
}

export function markRecallClosed(db: Database, id: RecallId, at: Instant, by: StaffId): void {
  db.update(recall).set({ closedAt: at, closedBy: by }).where(eq(recall.id, id)).run();
}

/** Everyone a unit of the list was ever lent to: a recall reaches past borrowers too. Newest loan first. */
export function loansOfRecall(db: Database, id: RecallId): ReadonlyMap<UnitSerial, readonly RecallLoan[]> {
  const rows = db
    .select({
      unitSerial: loan.unitSerial,
      id: loan.id,
      reference: loan.reference,
      borrowerName: borrower.name,
      phone: borrower.phone,
      endedAt: loan.endedAt,
    })
    .from(recallUnit)
    .innerJoin(loan, eq(loan.unitSerial, recallUnit.unitSerial))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(eq(recallUnit.recallId, id))
    .orderBy(desc(loan.openedAt))
    .all();
  const byUnit = new Map<UnitSerial, RecallLoan[]>();
  for (const { unitSerial, ...row } of rows) byUnit.set(unitSerial, [...(byUnit.get(unitSerial) ?? []), row]);
  return byUnit;
}

interface RecallLoan {
  readonly id: LoanId;
  readonly reference: string;
  readonly borrowerName: string;
  readonly phone: string;
  readonly endedAt: Instant | null;
}
