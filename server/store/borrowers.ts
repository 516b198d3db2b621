import { and, asc, count, eq, isNull, like, or, type SQL, sql } from "drizzle-orm";
import type { BorrowerId } from "../domain/ids.ts";
import { type Database, preparedOnce } from "./database.ts";
import { borrower, loan, reliefPlan } from "./schema/loans.ts";
import { staff } from "./schema/staff.ts";

export type BorrowerRow = typeof borrower.$inferSelect;

const borrowerWithClinician = {
  id: borrower.id,
  name: borrower.name,
  area: borrower.area,
  address: borrower.address,
  phone: borrower.phone,
  weight: borrower.weight,
  seatWidth: borrower.seatWidth,
  seatDepth: borrower.seatDepth,
  clinicianId: borrower.clinicianId,
  createdAt: borrower.createdAt,
  clinicianName: staff.name,
  openLoanId: loan.id,
  openLoanReference: loan.reference,
};

const borrowersWhere = (db: Database, condition: SQL | undefined) =>
  db
    .select(borrowerWithClinician)
    .from(borrower)
    .innerJoin(staff, eq(staff.id, borrower.clinicianId))
    .leftJoin(loan, and(eq(loan.borrowerId, borrower.id), isNull(loan.endedAt)))
    .where(condition)
    .orderBy(asc(borrower.name), asc(borrower.id));

export type BorrowerWithClinician = ReturnType<ReturnType<typeof borrowersWhere>["all"]>[number];

export const borrowerById = (db: Database, id: BorrowerId): BorrowerWithClinician | null =>
  named(db).get({ id }) ?? null;

const named = preparedOnce((db) => borrowersWhere(db, eq(borrower.id, sql.placeholder("id"))).prepare());

export const borrowersWithoutOpenLoan = (db: Database): readonly BorrowerWithClinician[] =>
  borrowersWhere(db, isNull(loan.id)).all();

export interface BorrowerSearch {
  readonly text: string;
  readonly limit: number;
  readonly offset: number;
}

const matching = (search: BorrowerSearch): SQL | undefined => {
  const pattern = `%${search.text.trim()}%`;
  return search.text.trim() === ""
    ? undefined
    : or(like(borrower.name, pattern), like(borrower.area, pattern));
};

export const borrowersMatching = (db: Database, search: BorrowerSearch): readonly BorrowerWithClinician[] =>
  borrowersWhere(db, matching(search)).limit(search.limit).offset(search.offset).all();

export const countBorrowersMatching = (db: Database, search: BorrowerSearch): number =>
  db.select({ count: count() }).from(borrower).where(matching(search)).get()?.count ?? 0;

/** Whether a clinician has set a relief plan. Stores learns that there is one, not what it asks. */
export const hasReliefPlan = (db: Database, id: BorrowerId): boolean =>
  db.select({ id: reliefPlan.id }).from(reliefPlan).where(eq(reliefPlan.borrowerId, id)).limit(1).get() !==
  undefined;

export function insertBorrower(db: Database, row: BorrowerRow): void {
  db.insert(borrower).values(row).run();
}

export type BorrowerChange = Pick<
  BorrowerRow,
  "name" | "area" | "address" | "phone" | "weight" | "seatWidth" | "seatDepth" | "clinicianId"
>;

export function updateBorrower(db: Database, id: BorrowerId, change: BorrowerChange): void {
  db.update(borrower).set(change).where(eq(borrower.id, id)).run();
}
