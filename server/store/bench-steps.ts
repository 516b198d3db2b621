import { and, asc, desc, eq } from "drizzle-orm";
import type { StepId } from "../domain/bench/steps.ts";
import type { BenchSessionId } from "../domain/ids.ts";
import type { Database } from "./database.ts";
import { benchStepDone } from "./schema/bench.ts";

export type BenchStepRow = typeof benchStepDone.$inferSelect;

/** The newest attempt at each step that was begun. */
export function latestStepsOf(db: Database, session: BenchSessionId): ReadonlyMap<StepId, BenchStepRow> {
  const rows = db
    .select()
    .from(benchStepDone)
    .where(eq(benchStepDone.sessionId, session))
    .orderBy(asc(benchStepDone.attempt))
    .all();
  return new Map(rows.map((row) => [row.step, row]));
}

export const latestStep = (db: Database, session: BenchSessionId, step: StepId): BenchStepRow | null =>
  db
    .select()
    .from(benchStepDone)
    .where(and(eq(benchStepDone.sessionId, session), eq(benchStepDone.step, step)))
    .orderBy(desc(benchStepDone.attempt))
    .limit(1)
    .get() ?? null;

/** Writes an attempt, or what has been added to it. */
export function saveStep(db: Database, row: BenchStepRow): void {
  const { readings, facts, judged, writtenAt, writtenBy } = row;
  db.insert(benchStepDone)
    .values(row)
    .onConflictDoUpdate({
      target: [benchStepDone.sessionId, benchStepDone.step, benchStepDone.attempt],
      set: { readings, facts, judged, writtenAt, writtenBy },
    })
    .run();
}
