import { asc, eq } from "drizzle-orm";
import { type Database, preparedOnce } from "./database.ts";
import { stretchOutcome } from "./schema/learning.ts";
import { loan } from "./schema/loans.ts";
import { stretch } from "./schema/verdicts.ts";

/** The last outcome found of each stretch, oldest first: a later finding takes the place of an earlier one. */
export function latestOutcomes(db: Database): readonly (typeof stretchOutcome.$inferSelect)[] {
  return [
    ...new Map(
      everyOutcome(db)
        .all()
        .map((row) => [row.stretchId, row]),
    ).values(),
  ];
}

const everyOutcome = preparedOnce((db) =>
  db.select().from(stretchOutcome).orderBy(asc(stretchOutcome.recordedAt)).prepare(),
);

export function insertOutcome(db: Database, row: typeof stretchOutcome.$inferInsert): void {
  db.insert(stretchOutcome).values(row).run();
}

/** A stretch with its loan. */
export const stretchWithLoan = (db: Database, id: (typeof stretch.$inferSelect)["id"]) =>
  db
    .select({ stretch, loan })
    .from(stretch)
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .where(eq(stretch.id, id))
    .get() ?? null;
