import { and, eq, gt, gte, isNotNull, isNull, lt, lte, ne, or, sql } from "drizzle-orm";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { certificate } from "./schema/enrolment.ts";
import { finding, unitAssessment } from "./schema/health.ts";
import { borrower, loan, loanNote } from "./schema/loans.ts";
import { ledgerDay } from "./schema/record.ts";
import { stretch } from "./schema/verdicts.ts";

/** What the registry knows that bears on a stretch: one question a function, one query a question. */

/** Other loans in force over `span`, with their units. */
export const otherLoansDuring = (db: Database, except: LoanId, span: Span) =>
  db
    .select({ id: loan.id, unitSerial: loan.unitSerial, area: borrower.area })
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(
      and(
        ne(loan.id, except),
        isNotNull(loan.startedAt),
        lte(loan.startedAt, span.start),
        or(isNull(loan.endedAt), gte(loan.endedAt, span.end)),
      ),
    )
    .all();

/** Gaps of other loans that overlap `span`, filled since or not. */
export const gapsOfOthersDuring = (db: Database, except: LoanId, span: Span) =>
  db
    .select({ id: stretch.id, loanId: stretch.loanId, startsAt: stretch.startsAt, endsAt: stretch.endsAt })
    .from(stretch)
    .where(
      and(
        eq(stretch.kind, "gap"),
        ne(stretch.loanId, except),
        lt(stretch.startsAt, span.end),
        or(isNull(stretch.endsAt), gt(stretch.endsAt, span.start)),
      ),
    )
    .all();

/** Gaps of this loan that began since `since` and had ended by `before`. */
export const earlierGapsOf = (db: Database, id: LoanId, since: Instant, before: Instant) =>
  db
    .select({ startsAt: stretch.startsAt, endsAt: stretch.endsAt, filledAt: stretch.filledAt })
    .from(stretch)
    .where(
      and(
        eq(stretch.kind, "gap"),
        eq(stretch.loanId, id),
        gte(stretch.startsAt, since),
        lte(stretch.endsAt, before),
      ),
    )
    .all();

/** Findings on the unit that were open at some time of `span` and that nobody has refuted.
 *  @param knownBy leaves out what was found, cleared or refuted later */
export const findingsDuring = (db: Database, unit: UnitSerial, span: Span, knownBy: Instant | null = null) =>
  db
    .select({
      kind: finding.kind,
      where: finding.place,
      since: finding.since,
      raisedAt: finding.raisedAt,
      clearedAt: finding.clearedAt,
    })
    .from(finding)
    .where(
      and(
        eq(finding.unitSerial, unit),
        lte(finding.since, span.end),
        or(isNull(finding.clearedAt), gt(finding.clearedAt, span.start)),
        or(
          isNull(finding.judgement),
          ne(finding.judgement, "refuted"),
          knownBy === null ? undefined : gte(finding.judgedAt, knownBy),
        ),
      ),
    )
    .all()
    .filter(({ since, raisedAt }) => knownBy === null || (raisedAt ?? since) < knownBy)
    .map(({ raisedAt: _, clearedAt, ...found }) => ({
      ...found,
      clearedAt: knownBy === null || clearedAt === null || clearedAt < knownBy ? clearedAt : null,
    }));

/** What the unit could see and what is known of its cell, as last assessed; undefined: never assessed. */
export const lastAssessed = (db: Database, unit: UnitSerial) =>
  db
    .select({ visibility: unitAssessment.visibility, capacityTold: unitAssessment.capacityTold })
    .from(unitAssessment)
    .where(eq(unitAssessment.unitSerial, unit))
    .get();

/** Was any certificate of the loan good at `at`? null: the loan never had one. */
export function hadGoodCertificate(db: Database, id: LoanId, at: Instant): boolean | null {
  const rows = db
    .select({ expiresAt: certificate.expiresAt, revokedAt: certificate.revokedAt })
    .from(certificate)
    .where(eq(certificate.loanId, id))
    .all();
  if (rows.length === 0) return null;
  return rows.some((row) => row.expiresAt > at && (row.revokedAt === null || row.revokedAt > at));
}

/** Notes on the loan whose time begins in or touches `span`; one without an end is a moment, save a stay or holiday. */
export const notesTouching = (db: Database, id: LoanId, span: Span) =>
  db
    .select({ kind: loanNote.kind, fromAt: loanNote.fromAt })
    .from(loanNote)
    .where(
      and(
        eq(loanNote.loanId, id),
        lt(loanNote.fromAt, span.end),
        gt(
          sql<number>`coalesce(${loanNote.untilAt}, case when ${loanNote.kind} in ('hospital', 'holiday') then ${span.end} else ${loanNote.fromAt} + 1 end)`,
          span.start,
        ),
      ),
    )
    .orderBy(loanNote.fromAt)
    .all();

/** Ledger days of a loan that begin within `span`, oldest first: their runs and what was due. */
export const ledgerDuring = (db: Database, id: LoanId, span: Span) =>
  db
    .select({
      day: ledgerDay.day,
      startsAt: ledgerDay.startsAt,
      endsAt: ledgerDay.endsAt,
      runs: ledgerDay.runs,
      met: ledgerDay.met,
      missed: ledgerDay.missed,
    })
    .from(ledgerDay)
    .where(
      and(eq(ledgerDay.loanId, id), gte(ledgerDay.startsAt, span.start), lt(ledgerDay.startsAt, span.end)),
    )
    .orderBy(ledgerDay.startsAt)
    .all();
