import { and, count, desc, eq, isNotNull, isNull, like, lte, max, or, type SQL, sql } from "drizzle-orm";
import type { BorrowerId, LoanId, UnitSerial } from "../domain/ids.ts";
import type { LocalDay } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { pairingCode } from "./schema/enrolment.ts";
import { model, unit } from "./schema/equipment.ts";
import { borrower, loan } from "./schema/loans.ts";

export type LoanRow = typeof loan.$inferSelect;

const loanInFull = {
  id: loan.id,
  reference: loan.reference,
  unitSerial: loan.unitSerial,
  borrowerId: loan.borrowerId,
  openedAt: loan.openedAt,
  startedAt: loan.startedAt,
  dueBackOn: loan.dueBackOn,
  endedAt: loan.endedAt,
  endReason: loan.endReason,
  followsLoanId: loan.followsLoanId,
  borrowerName: borrower.name,
  area: borrower.area,
  address: borrower.address,
  phone: borrower.phone,
  clinicianId: borrower.clinicianId,
  lotId: unit.lotId,
  place: unit.place,
  placeSince: unit.placeSince,
  lastHeardAt: unit.lastHeardAt,
  modelName: model.name,
  size: model.size,
};

const loansWhere = (db: Database, condition: SQL | undefined) =>
  db
    .select(loanInFull)
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .innerJoin(unit, eq(unit.serial, loan.unitSerial))
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(condition)
    .orderBy(desc(loan.openedAt), desc(loan.reference));

/** A loan with the borrower it is with and the unit it is of. */
export type LoanInFull = ReturnType<ReturnType<typeof loansWhere>["all"]>[number];

export const loanById = (db: Database, id: LoanId): LoanRow | null =>
  db.select().from(loan).where(eq(loan.id, id)).get() ?? null;

export const loanInFullById = (db: Database, id: LoanId): LoanInFull | null =>
  loansWhere(db, eq(loan.id, id)).get() ?? null;

export const openLoanOfUnit = (db: Database, serial: UnitSerial): LoanRow | null =>
  db
    .select()
    .from(loan)
    .where(and(eq(loan.unitSerial, serial), isNull(loan.endedAt)))
    .get() ?? null;

/** When the last loan in which the unit was set up with somebody ended; null: there was none. */
export const lastReturnOf = (db: Database, serial: UnitSerial): Instant | null =>
  db
    .select({ endedAt: max(loan.endedAt) })
    .from(loan)
    .where(and(eq(loan.unitSerial, serial), isNotNull(loan.startedAt)))
    .get()?.endedAt ?? null;

export const openLoanOfBorrower = (db: Database, id: BorrowerId): LoanRow | null =>
  db
    .select()
    .from(loan)
    .where(and(eq(loan.borrowerId, id), isNull(loan.endedAt)))
    .get() ?? null;

/** Newest first. */
export const loansOfUnit = (db: Database, serial: UnitSerial): readonly LoanInFull[] =>
  ofUnit(db).all({ serial });

// Every review of a unit asks it.
const ofUnit = preparedOnce((db) => loansWhere(db, eq(loan.unitSerial, sql.placeholder("serial"))).prepare());

export const loansOfBorrower = (db: Database, id: BorrowerId): readonly LoanInFull[] =>
  loansWhere(db, eq(loan.borrowerId, id)).all();

export const loanFollowing = (db: Database, id: LoanId): LoanRow | null =>
  db.select().from(loan).where(eq(loan.followsLoanId, id)).get() ?? null;

export const openLoans = (db: Database): readonly LoanInFull[] => loansWhere(db, isNull(loan.endedAt)).all();

/** Open, and the unit has not yet enrolled at the borrower's. */
export const loansNotStarted = (db: Database): readonly LoanInFull[] =>
  loansWhere(db, and(isNull(loan.endedAt), isNull(loan.startedAt))).all();

/** For each open loan whose unit has not enrolled: until when its newest code that is not withdrawn can be used. */
export function latestCodeExpiryOfLoansNotStarted(db: Database): ReadonlyMap<LoanId, Instant> {
  const rows = db
    .select({ loanId: pairingCode.loanId, expiresAt: pairingCode.expiresAt })
    .from(pairingCode)
    .innerJoin(loan, eq(loan.id, pairingCode.loanId))
    .where(and(isNull(loan.endedAt), isNull(loan.startedAt), isNull(pairingCode.withdrawnAt)))
    .orderBy(pairingCode.issuedAt)
    .all();
  return new Map(rows.flatMap(({ loanId, expiresAt }) => (loanId === null ? [] : [[loanId, expiresAt]])));
}

export const loansDueBackBy = (db: Database, day: LocalDay): readonly LoanInFull[] =>
  loansWhere(db, and(isNull(loan.endedAt), lte(loan.dueBackOn, day))).all();

/** Ended, but the unit has not been booked in: it is on its way, or should be. One row a unit: its latest loan. */
export function endedLoansComingBack(db: Database): readonly LoanInFull[] {
  const latest = new Map<UnitSerial, LoanInFull>();
  const rows = loansWhere(db, and(isNotNull(loan.endedAt), eq(unit.place, "coming-back"))).all();
  for (const row of rows) if (!latest.has(row.unitSerial)) latest.set(row.unitSerial, row);
  return [...latest.values()];
}

export interface LoanSearch {
  readonly state: "open" | "ended" | "all";
  /** Part of a reference, a serial or a name. */
  readonly text: string;
  readonly limit: number;
  readonly offset: number;
}

const matching = (search: LoanSearch): SQL | undefined => {
  const pattern = `%${search.text.trim()}%`;
  return and(
    search.state === "open" ? isNull(loan.endedAt) : undefined,
    search.state === "ended" ? isNotNull(loan.endedAt) : undefined,
    search.text.trim() === ""
      ? undefined
      : or(like(loan.reference, pattern), like(loan.unitSerial, pattern), like(borrower.name, pattern)),
  );
};

export const loansMatching = (db: Database, search: LoanSearch): readonly LoanInFull[] =>
  loansWhere(db, matching(search)).limit(search.limit).offset(search.offset).all();

export const countLoansMatching = (db: Database, search: LoanSearch): number =>
  db
    .select({ count: count() })
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(matching(search))
    .get()?.count ?? 0;

export function insertLoan(db: Database, row: LoanRow): void {
  db.insert(loan).values(row).run();
}

/** @returns false when the loan had ended already. */
export function markLoanEnded(db: Database, id: LoanId, at: Instant, reason: string): boolean {
  const result = db
    .update(loan)
    .set({ endedAt: at, endReason: reason })
    .where(and(eq(loan.id, id), isNull(loan.endedAt)))
    .run();
  return result.changes === 1;
}
