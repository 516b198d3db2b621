import { desc, eq, sql } from "drizzle-orm";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { BorrowerId } from "../domain/ids.ts";
import { type Database, preparedOnce } from "./database.ts";
import { reliefPlan } from "./schema/loans.ts";
import { staff } from "./schema/staff.ts";

const planInFull = {
  version: reliefPlan.version,
  validFrom: reliefPlan.validFrom,
  interval: reliefPlan.interval,
  hold: reliefPlan.hold,
  kinds: reliefPlan.kinds,
};

/** Every version, oldest first. */
export const reliefPlansOf = (db: Database, borrower: BorrowerId): readonly ReliefPlan[] =>
  everyPlan(db).all({ borrower });

const everyPlan = preparedOnce((db) =>
  db
    .select(planInFull)
    .from(reliefPlan)
    .where(eq(reliefPlan.borrowerId, sql.placeholder("borrower")))
    .orderBy(reliefPlan.validFrom, reliefPlan.version)
    .prepare(),
);

/** Every version with who set it, newest first. */
export const plansWithSetterOf = (db: Database, borrower: BorrowerId) =>
  db
    .select({ ...planInFull, setBy: staff.name })
    .from(reliefPlan)
    .innerJoin(staff, eq(staff.id, reliefPlan.setBy))
    .where(eq(reliefPlan.borrowerId, borrower))
    .orderBy(desc(reliefPlan.version))
    .all();

export function insertReliefPlan(db: Database, row: typeof reliefPlan.$inferInsert): void {
  db.insert(reliefPlan).values(row).run();
}
