import { index, integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { DescribedDraw } from "../../domain/battery/cell-description.ts";
import type { BenchTolerances } from "../../domain/bench/tolerances.ts";
import type { LotId, ModelId, UnitSerial } from "../../domain/ids.ts";
import type { Place } from "../../domain/lifecycle/place.ts";
import type { Kilograms, MilliampHours, Millimetres } from "../../domain/units.ts";
import { instantColumn } from "./columns.ts";

export const model = sqliteTable("model", {
  id: text("id").$type<ModelId>().primaryKey(),
  name: text("name").notNull(),
  size: text("size").notNull(),
  width: integer("width_mm").$type<Millimetres>().notNull(),
  depth: integer("depth_mm").$type<Millimetres>().notNull(),
  weightLimit: integer("weight_limit_kg").$type<Kilograms>().notNull(),
  rows: integer("grid_rows").notNull(),
  columns: integer("grid_columns").notNull(),
  pitch: integer("grid_pitch_mm").$type<Millimetres>().notNull(),
  ratedCapacity: integer("rated_capacity_mah").$type<MilliampHours>().notNull(),
  /** mA, where its maker states otherwise than usual; null: nothing. */
  draw: text("draw_ma", { mode: "json" }).$type<Partial<DescribedDraw>>(),
  /** What of the usual bench tolerances its maker states otherwise; null: nothing. */
  benchTolerances: text("bench_tolerances", { mode: "json" }).$type<Partial<BenchTolerances>>(),
  /** Where those come from, as whoever entered them wrote it. */
  tolerancesFrom: text("tolerances_from"),
  /** Places of the grid that hold no cell, such as cut-off corners; null: each holds one. */
  absentCells: text("absent_cells", { mode: "json" }).$type<readonly number[]>(),
  /** Grows with every change: a form that was filled in from an older one is told so. */
  version: integer("version").notNull().default(1),
});

export const lot = sqliteTable("lot", {
  id: text("id").$type<LotId>().primaryKey(),
  modelId: text("model_id")
    .$type<ModelId>()
    .notNull()
    .references(() => model.id),
  receivedAt: instantColumn("received_at").notNull(),
});

export const unit = sqliteTable(
  "unit",
  {
    serial: text("serial").$type<UnitSerial>().primaryKey(),
    modelId: text("model_id")
      .$type<ModelId>()
      .notNull()
      .references(() => model.id),
    lotId: text("lot_id")
      .$type<LotId>()
      .notNull()
      .references(() => lot.id),
    place: text("place").$type<Place>().notNull(),
    placeSince: instantColumn("place_since").notNull(),
    /** As last reported by the unit itself. */
    firmware: text("firmware"),
    hardware: text("hardware"),
    relay: text("relay"),
    lastHeardAt: instantColumn("last_heard_at"),
  },
  (table) => [index("unit_place").on(table.place), index("unit_lot").on(table.lotId)],
);
