import { and, asc, desc, eq, gt, isNull, lt, or } from "drizzle-orm";
import type { LoanId, StretchId } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Database } from "./database.ts";
import { stretch } from "./schema.ts";

const stretchColumns = {
  id: stretch.id,
  loan: stretch.loanId,
  kind: stretch.kind,
  start: stretch.startsAt,
  end: stretch.endsAt,
  firstSeenAt: stretch.firstSeenAt,
  filledAt: stretch.filledAt,
};

export const stretchById = (db: Database, id: StretchId): Stretch | null =>
  db.select(stretchColumns).from(stretch).where(eq(stretch.id, id)).get() ?? null;

/** Every stretch of the loan that touches `span`, filled or not, oldest first; without a span, all of them. */
export const stretchesOf = (db: Database, loan: LoanId, span?: Span): readonly Stretch[] =>
  db
    .select(stretchColumns)
    .from(stretch)
    .where(
      and(
        eq(stretch.loanId, loan),
        span === undefined ? undefined : lt(stretch.startsAt, span.end),
        span === undefined ? undefined : or(isNull(stretch.endsAt), gt(stretch.endsAt, span.start)),
      ),
    )
    .orderBy(asc(stretch.startsAt), asc(stretch.kind))
    .all();

/** Stretches of the loan that go on, oldest first. */
export const openStretchesOf = (db: Database, loan: LoanId): readonly Stretch[] =>
  db
    .select(stretchColumns)
    .from(stretch)
    .where(and(eq(stretch.loanId, loan), isNull(stretch.endsAt), isNull(stretch.filledAt)))
    .orderBy(asc(stretch.startsAt))
    .all();

/** Every stretch that went on at `since` or later and hasn't been filled, newest first. */
export const unfilledStretchesSince = (db: Database, since: Instant): readonly Stretch[] =>
  db
    .select(stretchColumns)
    .from(stretch)
    .where(and(isNull(stretch.filledAt), or(isNull(stretch.endsAt), gt(stretch.endsAt, since))))
    .orderBy(desc(stretch.startsAt))
    .all();

export function insertStretch(db: Database, { loan, start, end, ...rest }: Stretch): void {
  db.insert(stretch)
    .values({ ...rest, loanId: loan, startsAt: start, endsAt: end })
    .run();
}

export function updateStretch(db: Database, { id, start, end, filledAt }: Stretch): void {
  db.update(stretch).set({ startsAt: start, endsAt: end, filledAt }).where(eq(stretch.id, id)).run();
}
