import { asc, eq } from "drizzle-orm";
import type { ModelId } from "../domain/ids.ts";
import type { Database } from "./database.ts";
import { model } from "./schema/equipment.ts";

export type ModelRow = typeof model.$inferSelect;

export const allModels = (db: Database): readonly ModelRow[] =>
  db.select().from(model).orderBy(asc(model.name), asc(model.width), asc(model.depth), asc(model.id)).all();

export const modelById = (db: Database, id: ModelId): ModelRow | null =>
  db.select().from(model).where(eq(model.id, id)).get() ?? null;

/** @param row without bench tolerances of its own: the usual ones hold */
export function insertModel(db: Database, row: typeof model.$inferInsert): void {
  db.insert(model).values(row).run();
}
