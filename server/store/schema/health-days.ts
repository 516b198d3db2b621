import { blob, integer, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { UnitSerial } from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";

/** What a closed day of a unit says of its health, so that no day's record is read twice. Only kept: it can always be
 *  worked out anew from the record, and gives the same to the last digit. */
export const healthDay = sqliteTable(
  "health_day",
  {
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    start: instantColumn("start").notNull(),
    end: instantColumn("end").notNull(),
    /** Of the way days are told: another one makes it worthless. */
    version: integer("version").notNull(),
    /** What it was told under: the loan and the changes before its end. */
    basis: text("basis").notNull(),
    told: blob("told", { mode: "buffer" }).notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.start] })],
);
