import { desc, eq } from "drizzle-orm";
import type { LotId } from "../domain/ids.ts";
import type { Database } from "./database.ts";
import { lot, model } from "./schema/equipment.ts";

export type LotRow = typeof lot.$inferSelect;

export const lotById = (db: Database, id: LotId): LotRow | null =>
  db.select().from(lot).where(eq(lot.id, id)).get() ?? null;

/** Newest first, with the model each belongs to. */
export const allLots = (db: Database) =>
  db
    .select({
      id: lot.id,
      modelId: lot.modelId,
      receivedAt: lot.receivedAt,
      modelName: model.name,
      size: model.size,
    })
    .from(lot)
    .innerJoin(model, eq(model.id, lot.modelId))
    .orderBy(desc(lot.receivedAt), lot.id)
    .all();

export function insertLot(db: Database, row: LotRow): void {
  db.insert(lot).values(row).run();
}
