import { and, eq, gt, isNull, lt, or } from "drizzle-orm";
import type { BorrowerId, StaffId, StretchId } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { borrower, loan } from "./schema/loans.ts";
import { ledgerDay, reviewMark } from "./schema/record.ts";
import { learned, stretch, verdict } from "./schema/verdicts.ts";

const judged = {
  id: stretch.id,
  loanId: stretch.loanId,
  kind: stretch.kind,
  startsAt: stretch.startsAt,
  endsAt: stretch.endsAt,
  firstSeenAt: stretch.firstSeenAt,
  filledAt: stretch.filledAt,
  borrowerId: loan.borrowerId,
  borrowerName: borrower.name,
  unitSerial: loan.unitSerial,
  verdict: verdict.verdict,
  computedAt: verdict.computedAt,
};

const judgedStretches = (db: Database) =>
  db
    .select(judged)
    .from(stretch)
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .leftJoin(verdict, and(eq(verdict.stretchId, stretch.id), isNull(verdict.supersededAt)));

/** A stretch with its person and the verdict held now; `verdict` null: not judged yet. */
export type JudgedStretch = ReturnType<ReturnType<typeof judgedStretches>["all"]>[number];

/** null: no such stretch, or of somebody else's person. */
export const stretchForClinician = (db: Database, clinician: StaffId, id: StretchId): JudgedStretch | null =>
  judgedStretches(db)
    .where(and(eq(stretch.id, id), eq(borrower.clinicianId, clinician)))
    .get() ?? null;

/** Stretches of a clinician's people that go on, or ended since `since`; newest first. */
export const stretchesOfClinicSince = (
  db: Database,
  clinician: StaffId,
  since: Instant,
): readonly JudgedStretch[] =>
  judgedStretches(db)
    .where(and(eq(borrower.clinicianId, clinician), or(isNull(stretch.endsAt), gt(stretch.endsAt, since))))
    .orderBy(stretch.startsAt)
    .all();

/** Stretches of one person that touch `span`, oldest first. */
export const stretchesOfPersonDuring = (db: Database, id: BorrowerId, span: Span): readonly JudgedStretch[] =>
  judgedStretches(db)
    .where(
      and(
        eq(loan.borrowerId, id),
        lt(stretch.startsAt, span.end),
        or(isNull(stretch.endsAt), gt(stretch.endsAt, span.start)),
      ),
    )
    .orderBy(stretch.startsAt)
    .all();

/** Which of a clinician's stretches have something learned of them. */
export const learnedStretchesOf = (db: Database, clinician: StaffId): ReadonlySet<StretchId> =>
  new Set(
    db
      .select({ id: learned.stretchId })
      .from(learned)
      .innerJoin(stretch, eq(stretch.id, learned.stretchId))
      .innerJoin(loan, eq(loan.id, stretch.loanId))
      .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
      .where(eq(borrower.clinicianId, clinician))
      .all()
      .map(({ id }) => id),
  );

/** When the records of a clinician's people were last worked through; null: never. */
export function lastCheckedFor(db: Database, clinician: StaffId): Instant | null {
  const rows = db
    .select({ at: reviewMark.reviewedAt })
    .from(reviewMark)
    .innerJoin(loan, and(eq(loan.unitSerial, reviewMark.unitSerial), isNull(loan.endedAt)))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(eq(borrower.clinicianId, clinician))
    .all();
  return rows.reduce<Instant | null>(
    (latest, { at }) => (latest === null || at > latest ? at : latest),
    null,
  );
}

/** Ledger days of a person's loans that touch `span`, oldest first. */
export const ledgerOfPersonDuring = (db: Database, id: BorrowerId, span: Span) =>
  db
    .select({
      loanId: ledgerDay.loanId,
      day: ledgerDay.day,
      startsAt: ledgerDay.startsAt,
      endsAt: ledgerDay.endsAt,
      runs: ledgerDay.runs,
      due: ledgerDay.due,
      met: ledgerDay.met,
      missed: ledgerDay.missed,
      notAssessable: ledgerDay.notAssessable,
    })
    .from(ledgerDay)
    .innerJoin(loan, eq(loan.id, ledgerDay.loanId))
    .where(and(eq(loan.borrowerId, id), lt(ledgerDay.startsAt, span.end), gt(ledgerDay.endsAt, span.start)))
    .orderBy(ledgerDay.startsAt, loan.openedAt)
    .all();
export type PersonLedgerDay = ReturnType<typeof ledgerOfPersonDuring>[number];
