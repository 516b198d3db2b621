import { and, asc, count, desc, eq, inArray, like, ne, or, type SQL } from "drizzle-orm";
import type { LotId, UnitSerial } from "../domain/ids.ts";
import type { Place } from "../domain/lifecycle/place.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { model, unit } from "./schema/equipment.ts";

export type UnitRow = typeof unit.$inferSelect;

const unitWithModel = {
  serial: unit.serial,
  modelId: unit.modelId,
  lotId: unit.lotId,
  place: unit.place,
  placeSince: unit.placeSince,
  firmware: unit.firmware,
  hardware: unit.hardware,
  lastHeardAt: unit.lastHeardAt,
  modelName: model.name,
  size: model.size,
  width: model.width,
  depth: model.depth,
  weightLimit: model.weightLimit,
};

const unitsWhere = (db: Database, condition: SQL | undefined) =>
  db
    .select(unitWithModel)
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(condition)
    .orderBy(asc(unit.serial));

/** A unit with what its model says of size and load. */
export type UnitWithModel = ReturnType<ReturnType<typeof unitsWhere>["all"]>[number];

export const unitBySerial = (db: Database, serial: UnitSerial): UnitWithModel | null =>
  unitsWhere(db, eq(unit.serial, serial)).get() ?? null;

export const unitsIn = (db: Database, places: readonly Place[]): readonly UnitWithModel[] =>
  unitsWhere(db, inArray(unit.place, [...places])).all();

export const unitsOfLot = (db: Database, id: LotId): readonly UnitWithModel[] =>
  unitsWhere(db, eq(unit.lotId, id)).all();

export const unitsWithFirmware = (db: Database, firmware: string): readonly UnitWithModel[] =>
  unitsWhere(db, eq(unit.firmware, firmware)).all();

export interface UnitSearch {
  readonly place: Place | null;
  /** Part of a serial, a lot or a model's name; empty: all. */
  readonly text: string;
  readonly limit: number;
  readonly offset: number;
}

const matching = (search: UnitSearch): SQL | undefined => {
  const pattern = `%${search.text.trim()}%`;
  return and(
    search.place === null ? undefined : eq(unit.place, search.place),
    search.text.trim() === ""
      ? undefined
      : or(like(unit.serial, pattern), like(unit.lotId, pattern), like(model.name, pattern)),
  );
};

export const unitsMatching = (db: Database, search: UnitSearch): readonly UnitWithModel[] =>
  unitsWhere(db, matching(search)).limit(search.limit).offset(search.offset).all();

export const countUnitsMatching = (db: Database, search: UnitSearch): number =>
  db
    .select({ count: count() })
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(matching(search))
    .get()?.count ?? 0;

/** How many units of each model are in each place. */
export const stockByPlace = (db: Database) =>
  db
    .select({ modelName: model.name, size: model.size, place: unit.place, count: count() })
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .groupBy(model.id, unit.place)
    .orderBy(asc(model.name), asc(model.width), asc(model.depth))
    .all();

/** Every firmware that a unit has reported, for the choice of what to recall. */
export const firmwaresReported = (db: Database): readonly string[] =>
  db
    .selectDistinct({ firmware: unit.firmware })
    .from(unit)
    .orderBy(asc(unit.firmware))
    .all()
    .flatMap(({ firmware }) => (firmware === null ? [] : [firmware]));

/** Each firmware with how many units last reported it, retired ones left out. */
export const unitsByFirmware = (db: Database) =>
  db
    .select({ firmware: unit.firmware, units: count() })
    .from(unit)
    .where(ne(unit.place, "retired"))
    .groupBy(unit.firmware)
    .orderBy(desc(count()))
    .all()
    .flatMap(({ firmware, units }) => (firmware === null ? [] : [{ firmware, units }]));

/** Those heard of last come first. */
export const unitsHeardLastWith = (db: Database, firmware: string, limit: number): readonly UnitSerial[] =>
  db
    .select({ serial: unit.serial })
    .from(unit)
    .where(eq(unit.firmware, firmware))
    .orderBy(desc(unit.lastHeardAt), asc(unit.serial))
    .limit(limit)
    .all()
    .map(({ serial }) => serial);

export function insertUnit(db: Database, row: UnitRow): void {
  db.insert(unit).values(row).run();
}

export function setUnitPlace(db: Database, serial: UnitSerial, place: Place, since: Instant): void {
  db.update(unit).set({ place, placeSince: since }).where(eq(unit.serial, serial)).run();
}
