import { integer, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { LeanDirection } from "../../domain/condition/condition.ts";
import type { LoanId, StretchId, UnitSerial } from "../../domain/ids.ts";
import type { LocalDay } from "../../domain/time/local-day.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";
import { stretch } from "./verdicts.ts";

/** What the ledger said of a day before late data, or the rest of the day, took its place. At most one row for each day
 *  and day of change: what was held at the end of a day can be shown again to the last digit, what was held for an hour
 *  in between can't. */
export const ledgerDayHeld = sqliteTable(
  "ledger_day_held",
  {
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    day: text("day").$type<LocalDay>().notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    runs: text("runs", { mode: "json" }).$type<readonly (readonly [number, number, number])[]>().notNull(),
    due: text("due", { mode: "json" }).$type<readonly (readonly [number, string])[]>().notNull(),
    met: integer("met").notNull(),
    missed: integer("missed").notNull(),
    notAssessable: integer("not_assessable").notNull(),
    heldFrom: instantColumn("held_from").notNull(),
    heldUntil: instantColumn("held_until").notNull(),
  },
  (table) => [primaryKey({ columns: [table.loanId, table.day, table.heldUntil] })],
);

/** Where a stretch was held to lie before it moved, or was filled. */
export const stretchHeld = sqliteTable(
  "stretch_held",
  {
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at"),
    heldFrom: instantColumn("held_from").notNull(),
    heldUntil: instantColumn("held_until").notNull(),
  },
  (table) => [primaryKey({ columns: [table.stretchId, table.heldUntil] })],
);

/** Which leans a unit was held to hide, from `since` until the next row of the unit. */
export const hiddenLeansHeld = sqliteTable(
  "hidden_leans_held",
  {
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    since: instantColumn("since").notNull(),
    directions: text("directions", { mode: "json" }).$type<readonly LeanDirection[]>().notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.since] })],
);
