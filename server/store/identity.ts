import { and, asc, desc, eq, gt, gte, isNotNull, isNull, lt, or, sql } from "drizzle-orm";
import type { IdentityQuestionId, LoanId, ReattributionId, StaffId, UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { finding } from "./schema/health.ts";
import { identityQuestion, reattribution } from "./schema/identity.ts";
import { borrower, loan } from "./schema/loans.ts";

export type IdentityQuestionRow = typeof identityQuestion.$inferSelect;
export type ReattributionRow = typeof reattribution.$inferSelect;

const inFull = {
  question: identityQuestion,
  borrowerId: loan.borrowerId,
  borrowerName: borrower.name,
  unitSerial: loan.unitSerial,
};
const questions = (db: Database) =>
  db
    .select(inFull)
    .from(identityQuestion)
    .innerJoin(loan, eq(loan.id, identityQuestion.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId));

/** null: no such question, or about somebody else's person. */
export const identityQuestionFor = (db: Database, clinician: StaffId, id: IdentityQuestionId) =>
  questions(db)
    .where(and(eq(identityQuestion.id, id), eq(borrower.clinicianId, clinician)))
    .get() ?? null;

/** Not answered yet, of a clinician's people; oldest first. */
export const openIdentityQuestions = (db: Database, clinician: StaffId, knownBy: Instant | null = null) =>
  questions(db)
    .where(
      and(
        eq(borrower.clinicianId, clinician),
        knownBy === null
          ? isNull(identityQuestion.answer)
          : and(
              lt(identityQuestion.foundAt, knownBy),
              or(isNull(identityQuestion.answeredAt), gte(identityQuestion.answeredAt, knownBy)),
            ),
      ),
    )
    .orderBy(asc(identityQuestion.startsAt))
    .all();
export type IdentityQuestionInFull = ReturnType<typeof openIdentityQuestions>[number];

export const identityQuestionsOfLoan = (db: Database, id: LoanId): readonly IdentityQuestionRow[] =>
  db.select().from(identityQuestion).where(eq(identityQuestion.loanId, id)).all();

export function insertIdentityQuestion(db: Database, row: IdentityQuestionRow): void {
  db.insert(identityQuestion).values(row).run();
}

export function answerIdentityQuestion(
  db: Database,
  id: IdentityQuestionId,
  given: Pick<IdentityQuestionRow, "answer" | "reason" | "answeredBy" | "answeredAt">,
): void {
  db.update(identityQuestion).set(given).where(eq(identityQuestion.id, id)).run();
}

/** Oldest first, undone ones too. */
export const reattributionsOf = (db: Database, id: IdentityQuestionId): readonly ReattributionRow[] =>
  db
    .select()
    .from(reattribution)
    .where(eq(reattribution.questionId, id))
    .orderBy(asc(reattribution.doneAt))
    .all();

/** What of `side` was filed otherwise in a span: as known now (prepared, for every record that is read asks it), or by an
 *  earlier moment. */
function filed(side: typeof reattribution.fromLoanId | typeof reattribution.toLoanId) {
  const within = and(
    eq(side, sql.placeholder("loan")),
    lt(reattribution.startsAt, sql.placeholder("end")),
    gt(reattribution.endsAt, sql.placeholder("start")),
  );
  const now = preparedOnce((db) =>
    db
      .select()
      .from(reattribution)
      .where(and(within, isNull(reattribution.undoneAt)))
      .prepare(),
  );
  const byThen = preparedOnce((db) =>
    db
      .select()
      .from(reattribution)
      .where(
        and(
          within,
          lt(reattribution.doneAt, sql.placeholder("knownBy")),
          or(isNull(reattribution.undoneAt), gte(reattribution.undoneAt, sql.placeholder("knownBy"))),
        ),
      )
      .prepare(),
  );
  return (
    db: Database,
    id: LoanId,
    { start, end }: Span,
    knownBy: Instant | null = null,
  ): readonly ReattributionRow[] =>
    knownBy === null
      ? now(db).all({ loan: id, start, end })
      : byThen(db).all({ loan: id, start, end, knownBy });
}

/** What this loan's unit recorded in `span` that is not this loan's. @param knownBy null: as known now */
export const takenFrom = filed(reattribution.fromLoanId);

/** What other units recorded in `span` that is this loan's. */
export const givenTo = filed(reattribution.toLoanId);

/** Loans that something this unit recorded has been given to. */
export const loansReceivingFrom = (db: Database, unit: UnitSerial) =>
  receiving(db)
    .all({ unit })
    .flatMap(({ id }) => (id === null ? [] : [id]));

const receiving = preparedOnce((db) =>
  db
    .selectDistinct({ id: reattribution.toLoanId })
    .from(reattribution)
    .where(and(eq(reattribution.unitSerial, sql.placeholder("unit")), isNull(reattribution.undoneAt)))
    .prepare(),
);

/** What the clinician of `from` has confirmed is not of their person and offered to the loan `to`; not taken back. */
export const offered = (db: Database, from: LoanId, to: LoanId): readonly ReattributionRow[] =>
  db
    .select()
    .from(reattribution)
    .where(
      and(
        eq(reattribution.fromLoanId, from),
        eq(reattribution.offeredTo, to),
        isNull(reattribution.undoneAt),
      ),
    )
    .all();

/** What two loans have of each other's, undone ones too. */
export const exchangedBetween = (db: Database, one: LoanId, other: LoanId): readonly ReattributionRow[] =>
  db
    .select()
    .from(reattribution)
    .where(
      or(
        and(eq(reattribution.fromLoanId, one), eq(reattribution.toLoanId, other)),
        and(eq(reattribution.fromLoanId, other), eq(reattribution.toLoanId, one)),
      ),
    )
    .orderBy(asc(reattribution.doneAt))
    .all();

export function insertReattribution(db: Database, row: ReattributionRow): void {
  db.insert(reattribution).values(row).run();
}

export function undoReattribution(db: Database, id: ReattributionId, by: StaffId, at: Instant): void {
  db.update(reattribution).set({ undoneBy: by, undoneAt: at }).where(eq(reattribution.id, id)).run();
}

/** Questions of a swap that nobody has answered and whose other side is not known. */
export const unansweredSwaps = (db: Database): readonly IdentityQuestionRow[] =>
  db
    .select()
    .from(identityQuestion)
    .where(
      and(
        eq(identityQuestion.kind, "swapped"),
        isNull(identityQuestion.answer),
        isNull(identityQuestion.otherLoanId),
      ),
    )
    .all();

/** Loans going on whose unit has a finding of another load that began since `since`, newest first. */
export const loansWeighedOtherwise = (db: Database, since: Instant, most: number): readonly LoanId[] =>
  db
    .select({ id: loan.id })
    .from(finding)
    .innerJoin(loan, eq(loan.unitSerial, finding.unitSerial))
    .where(
      and(
        eq(finding.kind, "gain-or-weight"),
        isNull(finding.clearedAt),
        gte(finding.since, since),
        isNotNull(loan.startedAt),
        isNull(loan.endedAt),
      ),
    )
    .orderBy(desc(finding.since))
    .limit(most)
    .all()
    .map(({ id }) => id);

export function nameOtherLoan(db: Database, id: IdentityQuestionId, other: LoanId): void {
  db.update(identityQuestion).set({ otherLoanId: other }).where(eq(identityQuestion.id, id)).run();
}
