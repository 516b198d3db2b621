import { and, eq, gt, gte, isNotNull, isNull, lt, lte, ne, or, sql } from "drizzle-orm";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { certificate } from "./schema/enrolment.ts";
import { finding, unitAssessment } from "./schema/health.ts";
import { borrower, loan, loanNote } from "./schema/loans.ts";
import { stretch } from "./schema/verdicts.ts";

/** What the registry knows that bears on a stretch: one question a function, one query a question, each prepared once:
 *  every stretch of every unit is judged by them. */

/** Other loans in force over `span`, with their units. */
export const otherLoansDuring = (db: Database, except: LoanId, { start, end }: Span) =>
  otherLoans(db).all({ except, start, end });

const otherLoans = preparedOnce((db) =>
  db
    .select({ id: loan.id, unitSerial: loan.unitSerial, area: borrower.area })
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(
      and(
        ne(loan.id, sql.placeholder("except")),
        isNotNull(loan.startedAt),
        lte(loan.startedAt, sql.placeholder("start")),
        or(isNull(loan.endedAt), gte(loan.endedAt, sql.placeholder("end"))),
      ),
    )
    .prepare(),
);

/** Gaps of other loans that overlap `span`, filled since or not. */
export const gapsOfOthersDuring = (db: Database, except: LoanId, { start, end }: Span) =>
  gapsOfOthers(db).all({ except, start, end });

const gapsOfOthers = preparedOnce((db) =>
  db
    .select({ id: stretch.id, loanId: stretch.loanId, startsAt: stretch.startsAt, endsAt: stretch.endsAt })
    .from(stretch)
    .where(
      and(
        eq(stretch.kind, "gap"),
        ne(stretch.loanId, sql.placeholder("except")),
        lt(stretch.startsAt, sql.placeholder("end")),
        or(isNull(stretch.endsAt), gt(stretch.endsAt, sql.placeholder("start"))),
      ),
    )
    .prepare(),
);

/** Gaps of this loan that began since `since` and had ended by `before`. */
export const earlierGapsOf = (db: Database, id: LoanId, since: Instant, before: Instant) =>
  earlierGaps(db).all({ loan: id, since, before });

const earlierGaps = preparedOnce((db) =>
  db
    .select({ startsAt: stretch.startsAt, endsAt: stretch.endsAt, filledAt: stretch.filledAt })
    .from(stretch)
    .where(
      and(
        eq(stretch.kind, "gap"),
        eq(stretch.loanId, sql.placeholder("loan")),
        gte(stretch.startsAt, sql.placeholder("since")),
        lte(stretch.endsAt, sql.placeholder("before")),
      ),
    )
    .prepare(),
);

/** Findings on the unit that were open at some time of `span` and that nobody has refuted.
 *  @param knownBy leaves out what was found, cleared or refuted later */
export const findingsDuring = (db: Database, unit: UnitSerial, span: Span, knownBy: Instant | null = null) =>
  findings(db)
    // Nothing was judged later than never.
    .all({ unit, start: span.start, end: span.end, judgedSince: knownBy ?? Number.MAX_SAFE_INTEGER })
    .filter(({ since, raisedAt }) => knownBy === null || (raisedAt ?? since) < knownBy)
    .map(({ raisedAt: _, clearedAt, ...found }) => ({
      ...found,
      clearedAt: knownBy === null || clearedAt === null || clearedAt < knownBy ? clearedAt : null,
    }));

const findings = preparedOnce((db) =>
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
        eq(finding.unitSerial, sql.placeholder("unit")),
        lte(finding.since, sql.placeholder("end")),
        or(isNull(finding.clearedAt), gt(finding.clearedAt, sql.placeholder("start"))),
        or(
          isNull(finding.judgement),
          ne(finding.judgement, "refuted"),
          gte(finding.judgedAt, sql.placeholder("judgedSince")),
        ),
      ),
    )
    .prepare(),
);

/** What the unit could see and what is known of its cell, as last assessed; undefined: never assessed. */
export const lastAssessed = (db: Database, unit: UnitSerial) => assessment(db).get({ unit });

const assessment = preparedOnce((db) =>
  db
    .select({ visibility: unitAssessment.visibility, capacityTold: unitAssessment.capacityTold })
    .from(unitAssessment)
    .where(eq(unitAssessment.unitSerial, sql.placeholder("unit")))
    .prepare(),
);

/** Was any certificate of the loan good at `at`? null: the loan never had one. */
export function hadGoodCertificate(db: Database, id: LoanId, at: Instant): boolean | null {
  const rows = certificates(db).all({ loan: id });
  if (rows.length === 0) return null;
  return rows.some((row) => row.expiresAt > at && (row.revokedAt === null || row.revokedAt > at));
}

const certificates = preparedOnce((db) =>
  db
    .select({ expiresAt: certificate.expiresAt, revokedAt: certificate.revokedAt })
    .from(certificate)
    .where(eq(certificate.loanId, sql.placeholder("loan")))
    .prepare(),
);

/** Notes on the loan whose time begins in or touches `span`; one without an end is a moment, save a stay or holiday. */
export const notesTouching = (db: Database, id: LoanId, { start, end }: Span) =>
  notes(db).all({ loan: id, start, end });

const notes = preparedOnce((db) =>
  db
    .select({ kind: loanNote.kind, fromAt: loanNote.fromAt })
    .from(loanNote)
    .where(
      and(
        eq(loanNote.loanId, sql.placeholder("loan")),
        lt(loanNote.fromAt, sql.placeholder("end")),
        gt(
          sql<number>`coalesce(${loanNote.untilAt}, case when ${loanNote.kind} in ('hospital', 'holiday') then ${sql.placeholder("end")} else ${loanNote.fromAt} + 1 end)`,
          sql.placeholder("start"),
        ),
      ),
    )
    .orderBy(loanNote.fromAt)
    .prepare(),
);
