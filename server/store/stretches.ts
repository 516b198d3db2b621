import { and, asc, desc, eq, gt, isNull, lt, or } from "drizzle-orm";
import type { LoanId, StretchId } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Database } from "./database.ts";
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

export function insertStretch(db: Database, { loan, start, end, ...rest }: Stretch): void {
  db.insert(stretch)
    .values({ ...rest, loanId: loan, startsAt: start, endsAt: end })
    .run();
}

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
