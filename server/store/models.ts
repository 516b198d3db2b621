import { and, asc, eq, sql } from "drizzle-orm";
import type { DescribedDraw } from "../domain/battery/cell-description.ts";
import type { BenchTolerances } from "../domain/bench/tolerances.ts";
import type { ModelId, UnitSerial } from "../domain/ids.ts";
import { type Database, preparedOnce } from "./database.ts";
import { model, unit } from "./schema/equipment.ts";

export type ModelRow = typeof model.$inferSelect;

export const allModels = (db: Database): readonly ModelRow[] =>
  db.select().from(model).orderBy(asc(model.name), asc(model.width), asc(model.depth), asc(model.id)).all();

export const modelById = (db: Database, id: ModelId): ModelRow | null =>
  db.select().from(model).where(eq(model.id, id)).get() ?? null;

/** The shape of a unit's grid and the places in it that hold no cell. null: no such unit */
export function gridOf(db: Database, serial: UnitSerial) {
  const row = gridOfUnit(db).get({ serial });
  return row === undefined ? null : { ...row, absent: row.absent ?? [] };
}

const gridOfUnit = preparedOnce((db) =>
  db
    .select({ rows: model.rows, columns: model.columns, absent: model.absentCells })
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(eq(unit.serial, sql.placeholder("serial")))
    .prepare(),
);

/** What a unit's model says of its cell and of what it draws. null: no such unit */
export const batteryDescriptionOf = (db: Database, serial: UnitSerial) =>
  batteryOfUnit(db).get({ serial }) ?? null;

const batteryOfUnit = preparedOnce((db) =>
  db
    .select({ ratedCapacity: model.ratedCapacity, draw: model.draw })
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(eq(unit.serial, sql.placeholder("serial")))
    .prepare(),
);

export interface ModelDescription {
  readonly benchTolerances: Partial<BenchTolerances> | null;
  readonly tolerancesFrom: string | null;
  readonly draw: Partial<DescribedDraw> | null;
  readonly absentCells: readonly number[] | null;
}

/** @param seen the version that the change was made from */
export function describeModel(db: Database, id: ModelId, seen: number, now: ModelDescription): void {
  db.update(model)
    .set({ ...now, version: seen + 1 })
    .where(and(eq(model.id, id), eq(model.version, seen)))
    .run();
}

/** @param row without bench tolerances of its own: the usual ones hold */
export function insertModel(db: Database, row: typeof model.$inferInsert): void {
  db.insert(model).values(row).run();
}
