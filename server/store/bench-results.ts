import { desc, eq, sql } from "drizzle-orm";
import type { BenchSessionId, UnitSerial } from "../domain/ids.ts";
import { type Database, preparedOnce } from "./database.ts";
import { benchBaseline, benchCertificate, benchSession } from "./schema/bench.ts";

export type BenchBaselineRow = typeof benchBaseline.$inferSelect;
export type BenchCertificateRow = typeof benchCertificate.$inferSelect;

/** What the unit read when it last passed the bench, with the cells that don't count. null: it never did. */
export const benchBaselineOf = (db: Database, serial: UnitSerial): BenchBaselineRow | null =>
  lastBaseline(db).get({ unit: serial }) ?? null;

const lastBaseline = preparedOnce((db) =>
  db
    .select()
    .from(benchBaseline)
    .where(eq(benchBaseline.unitSerial, sql.placeholder("unit")))
    .orderBy(desc(benchBaseline.takenAt))
    .limit(1)
    .prepare(),
);

export function insertBaseline(db: Database, row: BenchBaselineRow): void {
  db.insert(benchBaseline).values(row).run();
}

export function insertBenchCertificate(db: Database, row: BenchCertificateRow): void {
  db.insert(benchCertificate).values(row).run();
}

export const certificateOfSession = (db: Database, session: BenchSessionId): BenchCertificateRow | null =>
  db.select().from(benchCertificate).where(eq(benchCertificate.sessionId, session)).get() ?? null;

/** With whether a later session of the same unit has replaced it. */
export function benchCertificateByCode(db: Database, code: string) {
  const row = db
    .select({
      code: benchCertificate.code,
      jws: benchCertificate.jws,
      issuedAt: benchCertificate.issuedAt,
      unit: benchSession.unitSerial,
      session: benchSession.id,
    })
    .from(benchCertificate)
    .innerJoin(benchSession, eq(benchSession.id, benchCertificate.sessionId))
    .where(eq(benchCertificate.code, code))
    .get();
  if (row === undefined) return null;
  const newest = db
    .select({ code: benchCertificate.code })
    .from(benchCertificate)
    .innerJoin(benchSession, eq(benchSession.id, benchCertificate.sessionId))
    .where(eq(benchSession.unitSerial, row.unit))
    .orderBy(desc(benchCertificate.issuedAt))
    .limit(1)
    .get();
  return { ...row, newest: newest?.code === row.code };
}
