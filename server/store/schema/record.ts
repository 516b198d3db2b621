import { sql } from "drizzle-orm";
import { index, integer, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { LoanId, UnitSerial } from "../../domain/ids.ts";
import type { LocalDay } from "../../domain/time/local-day.ts";
import { instantColumn } from "./columns.ts";
import { loan } from "./loans.ts";

/** How far a unit's record has been worked through: a restart goes on from here. */
export const reviewMark = sqliteTable("review_mark", {
  unitSerial: text("unit_serial").$type<UnitSerial>().primaryKey(),
  /** `message.id` of the newest row already reviewed. */
  throughMessage: integer("through_message").notNull(),
  reviewedAt: instantColumn("reviewed_at").notNull(),
});

/** Record that was reviewed already and has been given another place in time since (its clock spoke, or was set): the
 *  next review starts at `from`, which is also where the record lay before, however often the server stops in between. */
export const recordMoved = sqliteTable("record_moved", {
  unitSerial: text("unit_serial").$type<UnitSerial>().primaryKey(),
  from: instantColumn("moved_from").notNull(),
  /** `message.id` of the newest message that moved it: a review that has seen it has seen the move. */
  byMessage: integer("by_message").notNull(),
});

export const ledgerDay = sqliteTable(
  "ledger_day",
  {
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    day: text("day").$type<LocalDay>().notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    /** JSON [[state index, start ms, end ms], ...] in order, tiling the day. */
    runs: text("runs", { mode: "json" }).$type<readonly (readonly [number, number, number])[]>().notNull(),
    /** JSON [[due at ms, "met" | "missed" | "not-assessable"], ...]. */
    due: text("due", { mode: "json" }).$type<readonly (readonly [number, string])[]>().notNull(),
    met: integer("met").notNull(),
    missed: integer("missed").notNull(),
    notAssessable: integer("not_assessable").notNull(),
    reviewedAt: instantColumn("reviewed_at").notNull(),
    /** Since when it says what it says; what it said before is in `ledger_day_held`. null: since `reviewed_at`, of a
     *  day reviewed before that was kept. */
    heldFrom: instantColumn("held_from"),
    /** JSON, the sums that a habit is made of (day-digest-numbers.ts), so that a stretch is judged without reading the
     *  raw record of its habit days. null: of a day reviewed before they were kept. */
    digest: text("digest", { mode: "json" }).$type<readonly number[]>(),
    /** Some of its minutes are still to be sent. */
    awaits: integer("awaits", { mode: "boolean" }).notNull().default(false),
  },
  (table) => [
    primaryKey({ columns: [table.loanId, table.day] }),
    index("ledger_day_awaiting").on(table.loanId, table.day).where(sql`${table.awaits} = 1`),
  ],
);
