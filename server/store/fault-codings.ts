import { desc, eq } from "drizzle-orm";
import type { Part } from "../domain/bench/coding.ts";
import type { CodingId, StaffId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { faultCoding, partChange } from "./schema/bench.ts";

export type FaultCodingRow = typeof faultCoding.$inferSelect;

/** Newest first. */
export const codingsOf = (db: Database, serial: UnitSerial): readonly FaultCodingRow[] =>
  db
    .select()
    .from(faultCoding)
    .where(eq(faultCoding.unitSerial, serial))
    .orderBy(desc(faultCoding.codedAt))
    .all();

/** Newest first. */
export const partChangesOf = (db: Database, serial: UnitSerial) =>
  db
    .select({
      part: partChange.part,
      fitted: partChange.fitted,
      changedAt: partChange.changedAt,
      coding: partChange.codingId,
    })
    .from(partChange)
    .where(eq(partChange.unitSerial, serial))
    .orderBy(desc(partChange.changedAt), desc(partChange.id))
    .all();

export function insertCoding(db: Database, row: FaultCodingRow): void {
  db.insert(faultCoding).values(row).run();
}

export function insertPartChange(
  db: Database,
  change: {
    readonly unitSerial: UnitSerial;
    readonly codingId: CodingId | null;
    readonly part: Part;
    readonly fitted: string | null;
    readonly changedAt: Instant;
    readonly changedBy: StaffId;
  },
): void {
  db.insert(partChange).values(change).run();
}
