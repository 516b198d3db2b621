import { and, eq, gt, gte, inArray, isNull, lt, or, type SQL, sql } from "drizzle-orm";
import type { BorrowerId, StaffId, StretchId } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { ledgerDayHeld, stretchHeld } from "./schema/held.ts";
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
  /** Where it was held to lie, at the time asked about. */
  held: stretchHeld,
};

/** With the verdict held now, or at `knownBy`. */
const judgedStretches = (db: Database, knownBy: Instant | null, where: SQL | undefined) =>
  db
    .select(judged)
    .from(stretch)
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .leftJoin(
      verdict,
      and(
        eq(verdict.stretchId, stretch.id),
        knownBy === null
          ? isNull(verdict.supersededAt)
          : and(
              lt(verdict.computedAt, knownBy),
              or(isNull(verdict.supersededAt), gte(verdict.supersededAt, knownBy)),
            ),
      ),
    )
    .leftJoin(
      stretchHeld,
      and(
        eq(stretchHeld.stretchId, stretch.id),
        // Without a time asked about there is none to find.
        lt(stretchHeld.heldFrom, knownBy ?? instant(0)),
        gte(stretchHeld.heldUntil, knownBy ?? instant(0)),
      ),
    )
    .where(and(where, knownBy === null ? undefined : lt(stretch.firstSeenAt, knownBy)))
    .orderBy(stretch.startsAt)
    .all()
    .map(({ held, ...row }) => (knownBy === null ? row : asHeld(row, held, knownBy)));

type Row = Pick<typeof stretch.$inferSelect, "startsAt" | "endsAt" | "filledAt">;

/** What happened to it later had not happened yet. */
function asHeld<Stretch extends Row>(
  row: Stretch,
  held: Pick<Row, "startsAt" | "endsAt"> | null,
  knownBy: Instant,
): Stretch {
  const { startsAt, endsAt } = held ?? row;
  return {
    ...row,
    startsAt,
    endsAt: endsAt !== null && endsAt >= knownBy ? null : endsAt,
    filledAt: row.filledAt !== null && row.filledAt >= knownBy ? null : row.filledAt,
  };
}

/** A stretch with its person and the verdict held now, or then; `verdict` null: not judged yet. */
export type JudgedStretch = ReturnType<typeof judgedStretches>[number];

/** null: no such stretch, or of somebody else's person. @param knownBy null: now */
export const stretchForClinician = (
  db: Database,
  clinician: StaffId,
  id: StretchId,
  knownBy: Instant | null = null,
): JudgedStretch | null =>
  judgedStretches(db, knownBy, and(eq(stretch.id, id), eq(borrower.clinicianId, clinician)))[0] ?? null;

/** Stretches of a clinician's people that go on, or ended since `since`; oldest first. */
export const stretchesOfClinicSince = (
  db: Database,
  clinician: StaffId,
  since: Instant,
  knownBy: Instant | null = null,
): readonly JudgedStretch[] =>
  judgedStretches(
    db,
    knownBy,
    and(eq(borrower.clinicianId, clinician), endsAfter(db, since, knownBy)),
  ).filter(({ endsAt }) => endsAt === null || endsAt > since);

/** Stretches of one person that touch `span`, oldest first. */
export const stretchesOfPersonDuring = (
  db: Database,
  id: BorrowerId,
  span: Span,
  knownBy: Instant | null = null,
): readonly JudgedStretch[] =>
  judgedStretches(
    db,
    knownBy,
    and(
      eq(loan.borrowerId, id),
      knownBy === null ? lt(stretch.startsAt, span.end) : undefined,
      endsAfter(db, span.start, knownBy),
    ),
  ).filter(({ startsAt, endsAt }) => startsAt < span.end && (endsAt === null || endsAt > span.start));

/** Ends after `at`, or was held to. */
const endsAfter = (db: Database, at: Instant, knownBy: Instant | null): SQL | undefined =>
  or(
    isNull(stretch.endsAt),
    gt(stretch.endsAt, at),
    knownBy === null
      ? undefined
      : inArray(
          stretch.id,
          db
            .select({ id: stretchHeld.stretchId })
            .from(stretchHeld)
            .where(gte(stretchHeld.heldUntil, knownBy)),
        ),
  );

/** Which of a clinician's stretches have something learned of them. */
export const learnedStretchesOf = (
  db: Database,
  clinician: StaffId,
  knownBy: Instant | null = null,
): ReadonlySet<StretchId> =>
  new Set(
    db
      .select({ id: learned.stretchId })
      .from(learned)
      .innerJoin(stretch, eq(stretch.id, learned.stretchId))
      .innerJoin(loan, eq(loan.id, stretch.loanId))
      .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
      .where(
        and(
          eq(borrower.clinicianId, clinician),
          knownBy === null ? undefined : lt(learned.writtenAt, knownBy),
        ),
      )
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

const shownOfDay = <Table extends typeof ledgerDay | typeof ledgerDayHeld>(table: Table) => ({
  loanId: table.loanId,
  day: table.day,
  startsAt: table.startsAt,
  endsAt: table.endsAt,
  runs: table.runs,
  due: table.due,
  met: table.met,
  missed: table.missed,
  notAssessable: table.notAssessable,
});

/** Ledger days of a person's loans that touch `span`, oldest first.
 *  @param knownBy the end of a day: as they were held then, to the last digit. A day of which that isn't kept is left
 *  out. null: as they are held now */
export function ledgerOfPersonDuring(
  db: Database,
  id: BorrowerId,
  span: Span,
  knownBy: Instant | null = null,
) {
  const now = db
    .select(shownOfDay(ledgerDay))
    .from(ledgerDay)
    .innerJoin(loan, eq(loan.id, ledgerDay.loanId))
    .where(
      and(
        eq(loan.borrowerId, id),
        lt(ledgerDay.startsAt, span.end),
        gt(ledgerDay.endsAt, span.start),
        knownBy === null
          ? undefined
          : lt(sql`coalesce(${ledgerDay.heldFrom}, ${ledgerDay.reviewedAt})`, knownBy),
      ),
    )
    .orderBy(ledgerDay.startsAt, loan.openedAt)
    .all();
  if (knownBy === null) return now;
  const then = db
    .select(shownOfDay(ledgerDayHeld))
    .from(ledgerDayHeld)
    .innerJoin(loan, eq(loan.id, ledgerDayHeld.loanId))
    .where(
      and(
        eq(loan.borrowerId, id),
        lt(ledgerDayHeld.startsAt, span.end),
        gt(ledgerDayHeld.endsAt, span.start),
        lt(ledgerDayHeld.heldFrom, knownBy),
        gte(ledgerDayHeld.heldUntil, knownBy),
      ),
    )
    .orderBy(ledgerDayHeld.startsAt, loan.openedAt)
    .all();
  return [...now, ...then].sort((a, b) => a.startsAt - b.startsAt);
}
export type PersonLedgerDay = ReturnType<typeof ledgerOfPersonDuring>[number];
