import { and, eq } from "drizzle-orm";
import type { BorrowerId, StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { borrower, loan } from "./schema/loans.ts";

/** No address and no telephone number: the clinic desk works without them. */
const person = { id: borrower.id, name: borrower.name, area: borrower.area };

/** null: no such person, or somebody else's. */
export const borrowerOfClinician = (db: Database, clinician: StaffId, id: BorrowerId) =>
  db
    .select(person)
    .from(borrower)
    .where(and(eq(borrower.id, id), eq(borrower.clinicianId, clinician)))
    .get() ?? null;

/** The clinician's own people, by name. */
export const peopleOfClinician = (db: Database, clinician: StaffId) =>
  db.select(person).from(borrower).where(eq(borrower.clinicianId, clinician)).orderBy(borrower.name).all();
export type ClinicPerson = ReturnType<typeof peopleOfClinician>[number];

const loanOfPerson = {
  id: loan.id,
  reference: loan.reference,
  unitSerial: loan.unitSerial,
  borrowerId: loan.borrowerId,
  openedAt: loan.openedAt,
  startedAt: loan.startedAt,
  endedAt: loan.endedAt,
  followsLoanId: loan.followsLoanId,
};

/** Loans of all of a clinician's people, oldest first. */
export const loansOfClinic = (db: Database, clinician: StaffId) =>
  db
    .select(loanOfPerson)
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(eq(borrower.clinicianId, clinician))
    .orderBy(loan.openedAt)
    .all();
export type ClinicLoan = ReturnType<typeof loansOfClinic>[number];

export const loansOfPerson = (
  db: Database,
  id: BorrowerId,
  knownBy: Instant | null = null,
): readonly ClinicLoan[] =>
  asKnownBy(
    db.select(loanOfPerson).from(loan).where(eq(loan.borrowerId, id)).orderBy(loan.openedAt).all(),
    knownBy,
  );

/** What was opened, started or ended later had not been. */
export function asKnownBy(loans: readonly ClinicLoan[], knownBy: Instant | null): readonly ClinicLoan[] {
  if (knownBy === null) return loans;
  const by = (at: Instant | null): Instant | null => (at !== null && at < knownBy ? at : null);
  return loans
    .filter(({ openedAt }) => openedAt < knownBy)
    .map((one) => ({ ...one, startedAt: by(one.startedAt), endedAt: by(one.endedAt) }));
}
