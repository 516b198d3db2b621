import { and, asc, eq, isNull, or } from "drizzle-orm";
import type { PrivacyIncidentId, StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { identityQuestion, privacyIncident } from "./schema/identity.ts";
import { borrower, loan } from "./schema/loans.ts";

export type PrivacyIncidentRow = typeof privacyIncident.$inferSelect;

/** The question it was opened by, or the other clinician's about the same two loans. */
const isAbout = or(
  eq(privacyIncident.questionId, identityQuestion.id),
  and(
    eq(privacyIncident.loanId, identityQuestion.otherLoanId),
    eq(privacyIncident.otherLoanId, identityQuestion.loanId),
  ),
);

/** null: none was opened. */
export const privacyIncidentOf = (
  db: Database,
  question: PrivacyIncidentRow["questionId"],
): PrivacyIncidentRow | null =>
  db
    .select({ incident: privacyIncident })
    .from(identityQuestion)
    .innerJoin(privacyIncident, isAbout)
    .where(eq(identityQuestion.id, question))
    .get()?.incident ?? null;

/** Open ones about a clinician's people, each with their own question; oldest first. */
export const openPrivacyIncidents = (db: Database, clinician: StaffId) =>
  db
    .select({ question: identityQuestion.id, name: borrower.name, openedAt: privacyIncident.openedAt })
    .from(privacyIncident)
    .innerJoin(identityQuestion, isAbout)
    .innerJoin(loan, eq(loan.id, identityQuestion.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(and(isNull(privacyIncident.closedAt), eq(borrower.clinicianId, clinician)))
    .orderBy(asc(privacyIncident.openedAt))
    .all();

export function insertPrivacyIncident(db: Database, row: PrivacyIncidentRow): void {
  db.insert(privacyIncident).values(row).run();
}

export function savePrivacyOutcome(
  db: Database,
  id: PrivacyIncidentId,
  closed: { readonly outcome: string; readonly closedBy: StaffId; readonly closedAt: Instant },
): void {
  db.update(privacyIncident).set(closed).where(eq(privacyIncident.id, id)).run();
}
