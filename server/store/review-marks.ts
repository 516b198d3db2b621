import { and, eq, gt, isNotNull, isNull, lte, or, sql } from "drizzle-orm";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { loan } from "./schema/loans.ts";
import { recordMoved, reviewMark } from "./schema/record.ts";

/** Moves the mark on, and takes back what the review has seen of record that was given another place. */
export function saveReviewMark(
  db: Database,
  unit: UnitSerial,
  { throughMessage, at }: { readonly throughMessage: number; readonly at: Instant },
): void {
  movedOn(db).run({ unit, throughMessage, at });
  movesSeen(db).run({ unit, throughMessage });
}

const movedOn = preparedOnce((db) =>
  db
    .insert(reviewMark)
    .values({
      unitSerial: sql.placeholder("unit"),
      throughMessage: sql.placeholder("throughMessage"),
      reviewedAt: sql.placeholder("at"),
    })
    .onConflictDoUpdate({
      target: reviewMark.unitSerial,
      set: { throughMessage: sql`excluded.through_message`, reviewedAt: sql`excluded.reviewed_at` },
    })
    .prepare(),
);

const movesSeen = preparedOnce((db) =>
  db
    .delete(recordMoved)
    .where(
      and(
        eq(recordMoved.unitSerial, sql.placeholder("unit")),
        lte(recordMoved.byMessage, sql.placeholder("throughMessage")),
      ),
    )
    .prepare(),
);

/** Units whose record grows older by itself, news or not: on a loan that started and is open, or ended after `since`. */
export const unitsWithLoanSince = (db: Database, since: Instant): readonly UnitSerial[] =>
  db
    .selectDistinct({ unit: loan.unitSerial })
    .from(loan)
    .where(and(isNotNull(loan.startedAt), or(isNull(loan.endedAt), gt(loan.endedAt, since))))
    .orderBy(loan.unitSerial)
    .all()
    .map(({ unit }) => unit);
