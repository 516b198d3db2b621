import { and, eq, gt, isNotNull, isNull, lte, or } from "drizzle-orm";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { loan } from "./schema/loans.ts";
import { recordMoved, reviewMark } from "./schema/record.ts";

/** Moves the mark on, and takes back what the review has seen of record that was given another place. */
export function saveReviewMark(
  db: Database,
  unit: UnitSerial,
  { throughMessage, at }: { readonly throughMessage: number; readonly at: Instant },
): void {
  const row = { throughMessage, reviewedAt: at };
  db.insert(reviewMark)
    .values({ unitSerial: unit, ...row })
    .onConflictDoUpdate({ target: reviewMark.unitSerial, set: row })
    .run();
  db.delete(recordMoved)
    .where(and(eq(recordMoved.unitSerial, unit), lte(recordMoved.byMessage, throughMessage)))
    .run();
}

/** Units whose record grows older by itself, news or not: on a loan that started and is open, or ended after `since`. */
export const unitsWithLoanSince = (db: Database, since: Instant): readonly UnitSerial[] =>
  db
    .selectDistinct({ unit: loan.unitSerial })
    .from(loan)
    .where(and(isNotNull(loan.startedAt), or(isNull(loan.endedAt), gt(loan.endedAt, since))))
    .orderBy(loan.unitSerial)
    .all()
    .map(({ unit }) => unit);
