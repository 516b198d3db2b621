import { and, eq, gt, isNotNull, isNull, or } from "drizzle-orm";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { loan } from "./schema/loans.ts";
import { reviewMark } from "./schema/record.ts";

/** Newest message already worked through; 0: none yet. */
export const reviewedThrough = (db: Database, unit: UnitSerial): number =>
  db.select().from(reviewMark).where(eq(reviewMark.unitSerial, unit)).get()?.throughMessage ?? 0;

/** Moves the mark on, unless it was moved meanwhile: telemetry that was given a new place takes it back, and then the
 *  next review starts there. */
export function saveReviewMark(
  db: Database,
  unit: UnitSerial,
  mark: { readonly before: number; readonly throughMessage: number; readonly at: Instant },
): void {
  if (reviewedThrough(db, unit) !== mark.before) return;
  const row = { throughMessage: mark.throughMessage, reviewedAt: mark.at };
  db.insert(reviewMark)
    .values({ unitSerial: unit, ...row })
    .onConflictDoUpdate({ target: reviewMark.unitSerial, set: row })
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
