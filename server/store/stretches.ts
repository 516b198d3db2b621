import { and, asc, desc, eq, gt, isNull, lt, or, sql } from "drizzle-orm";
import type { LoanId, StretchId } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import { type Database, preparedOnce } from "./database.ts";
import { stretchHeld } from "./schema/held.ts";
import { stretch } from "./schema/verdicts.ts";

const stretchColumns = {
  id: stretch.id,
  loan: stretch.loanId,
  kind: stretch.kind,
  start: stretch.startsAt,
  end: stretch.endsAt,
  firstSeenAt: stretch.firstSeenAt,
  filledAt: stretch.filledAt,
};

/** Every stretch of the loan that touches `span`, filled or not, oldest first; without a span, all of them. */
export const stretchesOf = (db: Database, loan: LoanId, span: Span = always): readonly Stretch[] =>
  stretches(db).all({ loan, start: span.start, end: span.end });

const always: Span = { start: instant(Number.MIN_SAFE_INTEGER), end: instant(Number.MAX_SAFE_INTEGER) };

const stretches = preparedOnce((db) =>
  db
    .select(stretchColumns)
    .from(stretch)
    .where(
      and(
        eq(stretch.loanId, sql.placeholder("loan")),
        lt(stretch.startsAt, sql.placeholder("end")),
        or(isNull(stretch.endsAt), gt(stretch.endsAt, sql.placeholder("start"))),
      ),
    )
    .orderBy(asc(stretch.startsAt), asc(stretch.kind))
    .prepare(),
);

export const insertStretch = (db: Database, row: Stretch): void => void inserted(db).run({ ...row });

const inserted = preparedOnce((db) =>
  db
    .insert(stretch)
    .values({
      id: sql.placeholder("id"),
      loanId: sql.placeholder("loan"),
      kind: sql.placeholder("kind"),
      startsAt: sql.placeholder("start"),
      endsAt: sql.placeholder("end"),
      firstSeenAt: sql.placeholder("firstSeenAt"),
      filledAt: sql.placeholder("filledAt"),
    })
    .prepare(),
);

/** Where it was held to lie before is kept. */
export function updateStretch(
  db: Database,
  { id, start, end, filledAt, firstSeenAt }: Stretch,
  at: Instant,
): void {
  const before = db.select().from(stretch).where(eq(stretch.id, id)).get();
  if (before && (before.startsAt !== start || before.endsAt !== end))
    db.insert(stretchHeld)
      .values({
        stretchId: id,
        startsAt: before.startsAt,
        endsAt: before.endsAt,
        heldFrom: lastMoved(db, id) ?? firstSeenAt,
        heldUntil: at,
      })
      .onConflictDoNothing()
      .run();
  db.update(stretch).set({ startsAt: start, endsAt: end, filledAt }).where(eq(stretch.id, id)).run();
}

const lastMoved = (db: Database, id: StretchId): Instant | null =>
  db
    .select({ at: stretchHeld.heldUntil })
    .from(stretchHeld)
    .where(eq(stretchHeld.stretchId, id))
    .orderBy(desc(stretchHeld.heldUntil))
    .limit(1)
    .get()?.at ?? null;
