import { and, count, eq, gt, gte, isNull, lt, lte, ne, or, sql } from "drizzle-orm";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import { type Instant, millisecondsIn, type Span } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { certificate } from "./schema/enrolment.ts";
import { finding, unitAssessment } from "./schema/health.ts";
import { borrower, loan, loanNote } from "./schema/loans.ts";
import { stretch } from "./schema/verdicts.ts";

/** What the registry knows that bears on a stretch: one question a function, one query a question, each prepared once:
 *  every stretch of every unit is judged by them. */

/** Other loans in force at a moment, with their units. */
export const otherLoansAt = (db: Database, except: LoanId, at: Instant) => otherLoans(db).all({ except, at });

const inForce = and(
  lte(loan.startedAt, sql.placeholder("at")),
  or(isNull(loan.endedAt), gte(loan.endedAt, sql.placeholder("at"))),
);

const otherLoans = preparedOnce((db) =>
  db
    .select({ id: loan.id, unitSerial: loan.unitSerial, area: borrower.area })
    .from(loan)
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(and(ne(loan.id, sql.placeholder("except")), inForce))
    .prepare(),
);

/** How many loans are in force at a moment. */
export const countLoansAt = (db: Database, at: Instant): number => loansCounted(db).get({ at })?.count ?? 0;

/** The same of one area. */
export const countLoansInAreaAt = (db: Database, at: Instant, area: string): number =>
  loansInAreaCounted(db).get({ at, area })?.count ?? 0;

const loansCounted = preparedOnce((db) => db.select({ count: count() }).from(loan).where(inForce).prepare());

const loansInAreaCounted = preparedOnce((db) =>
  db
    .select({ count: count() })
    .from(borrower)
    .innerJoin(loan, eq(loan.borrowerId, borrower.id))
    .where(and(eq(borrower.area, sql.placeholder("area")), inForce))
    .prepare(),
);

/** Gaps of other loans in force at `start` of `span`, that overlap it, filled since or not. */
export function gapsOfOthersDuring(db: Database, except: LoanId, { start, end }: Span) {
  const asked = { except, start, end, dayBefore: start - 24 * millisecondsIn.hour };
  return [...longGapsOfOthers(db).all(asked), ...gapsOfOthers(db).all(asked)];
}

const gapOfOther = {
  id: stretch.id,
  loanId: stretch.loanId,
  startsAt: stretch.startsAt,
  endsAt: stretch.endsAt,
  area: borrower.area,
  loanStartedAt: loan.startedAt,
  loanEndedAt: loan.endedAt,
};
const ofOthersReaching = and(
  eq(stretch.kind, "gap"),
  ne(stretch.loanId, sql.placeholder("except")),
  or(isNull(stretch.endsAt), gt(stretch.endsAt, sql.placeholder("start"))),
);

const gapsOfOthers = preparedOnce((db) =>
  db
    .select(gapOfOther)
    .from(stretch)
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(
      and(
        ofOthersReaching,
        gte(stretch.startsAt, sql.placeholder("dayBefore")),
        lt(stretch.startsAt, sql.placeholder("end")),
      ),
    )
    .prepare(),
);

const longGapsOfOthers = preparedOnce((db) =>
  db
    .select(gapOfOther)
    .from(stretch)
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(
      and(
        ofOthersReaching,
        lt(stretch.startsAt, sql.placeholder("dayBefore")),
        // Word for word as the index has it.
        sql`kind = 'gap' and (ends_at is null or ends_at - starts_at > 86400000)`,
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
