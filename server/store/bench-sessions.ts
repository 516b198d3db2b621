import { and, count, desc, eq, inArray, isNotNull, sql } from "drizzle-orm";
import type { Asked, BenchOutcome, SessionState } from "../domain/bench/session.ts";
import type { StepId } from "../domain/bench/steps.ts";
import type { BenchSessionId, StaffId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { benchSession } from "./schema/bench.ts";
import { model, unit } from "./schema/equipment.ts";
import { staff } from "./schema/staff.ts";

export type BenchSessionRow = typeof benchSession.$inferSelect;

export const benchSessionById = (db: Database, id: BenchSessionId): BenchSessionRow | null =>
  db.select().from(benchSession).where(eq(benchSession.id, id)).get() ?? null;

export const openBenchSessionOf = (db: Database, serial: UnitSerial): BenchSessionRow | null =>
  openSession(db).get({ unit: serial }) ?? null;

const openSession = preparedOnce((db) =>
  db
    .select()
    .from(benchSession)
    .where(and(eq(benchSession.unitSerial, sql.placeholder("unit")), eq(benchSession.state, "open")))
    .prepare(),
);

/** The last one that ended, whatever came of it. */
export const lastBenchSessionOf = (db: Database, serial: UnitSerial): BenchSessionRow | null =>
  lastEnded(db).get({ unit: serial }) ?? null;

const lastEnded = preparedOnce((db) =>
  db
    .select()
    .from(benchSession)
    .where(and(eq(benchSession.unitSerial, sql.placeholder("unit")), isNotNull(benchSession.endedAt)))
    .orderBy(desc(benchSession.endedAt))
    .limit(1)
    .prepare(),
);

export const lastPassOf = (db: Database, serial: UnitSerial): BenchSessionRow | null =>
  lastPass(db).get({ unit: serial }) ?? null;

const lastPass = preparedOnce((db) =>
  db
    .select()
    .from(benchSession)
    .where(
      and(
        eq(benchSession.unitSerial, sql.placeholder("unit")),
        inArray(benchSession.outcome, ["pass", "pass-masked"]),
      ),
    )
    .orderBy(desc(benchSession.endedAt))
    .limit(1)
    .prepare(),
);

const linesWhere = (db: Database, condition: ReturnType<typeof and>) =>
  db
    .select({
      id: benchSession.id,
      reference: benchSession.reference,
      unit: benchSession.unitSerial,
      modelName: model.name,
      size: model.size,
      state: benchSession.state,
      step: benchSession.step,
      holder: staff.name,
      heldBy: benchSession.heldBy,
      startedAt: benchSession.startedAt,
      touchedAt: benchSession.touchedAt,
      endedAt: benchSession.endedAt,
      outcome: benchSession.outcome,
    })
    .from(benchSession)
    .innerJoin(unit, eq(unit.serial, benchSession.unitSerial))
    .innerJoin(model, eq(model.id, unit.modelId))
    .innerJoin(staff, eq(staff.id, benchSession.heldBy))
    .where(condition)
    .orderBy(sql`${benchSession.state} = 'open' desc`, desc(benchSession.touchedAt));

export type BenchSessionLine = ReturnType<ReturnType<typeof linesWhere>["all"]>[number];

/** Open ones first, then the newest. */
export const benchSessionLines = (
  db: Database,
  page: { readonly limit: number; readonly offset: number },
): readonly BenchSessionLine[] => linesWhere(db, undefined).limit(page.limit).offset(page.offset).all();

export const benchSessionLinesOf = (db: Database, serial: UnitSerial): readonly BenchSessionLine[] =>
  linesWhere(db, eq(benchSession.unitSerial, serial)).all();

export const countBenchSessions = (db: Database): number =>
  db.select({ count: count() }).from(benchSession).get()?.count ?? 0;

export function insertBenchSession(db: Database, row: BenchSessionRow): void {
  db.insert(benchSession).values(row).run();
}

export interface SessionChange {
  readonly step?: StepId;
  readonly asked?: Asked | null;
  readonly heldBy?: StaffId;
  readonly state?: SessionState;
  readonly outcome?: BenchOutcome;
  readonly note?: string | null;
  readonly endedAt?: Instant;
}

/** @returns false when somebody else changed it since `seen` was read: then nothing changed */
export const changeBenchSession = (
  db: Database,
  id: BenchSessionId,
  seen: number,
  change: SessionChange & { readonly at: Instant },
): boolean => {
  const { at, ...rest } = change;
  return (
    db
      .update(benchSession)
      .set({ ...rest, touchedAt: at, version: seen + 1 })
      .where(and(eq(benchSession.id, id), eq(benchSession.version, seen), eq(benchSession.state, "open")))
      .run().changes === 1
  );
};
