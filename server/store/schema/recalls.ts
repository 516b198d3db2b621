import { sql } from "drizzle-orm";
import { check, index, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { LoanId, RecallId, StaffId, UnitSerial, VisitId } from "../../domain/ids.ts";
import type { RecallOutcome } from "../../domain/lifecycle/recall-balance.ts";
import type { LocalDay } from "../../domain/time/local-day.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";
import { staff } from "./staff.ts";

export const recall = sqliteTable("recall", {
  id: text("id").$type<RecallId>().primaryKey(),
  reference: text("reference").notNull().unique(),
  title: text("title").notNull(),
  advice: text("advice").notNull(),
  /** Takes back by lot or by firmware. */
  criterion: text("criterion").$type<"lot" | "firmware">().notNull(),
  criterionValue: text("criterion_value").notNull(),
  openedAt: instantColumn("opened_at").notNull(),
  openedBy: text("opened_by")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
  closedAt: instantColumn("closed_at"),
  closedBy: text("closed_by")
    .$type<StaffId>()
    .references(() => staff.id),
});

export const recallUnit = sqliteTable(
  "recall_unit",
  {
    recallId: text("recall_id")
      .$type<RecallId>()
      .notNull()
      .references(() => recall.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    outcome: text("outcome").$type<RecallOutcome>().notNull(),
    note: text("note").notNull(),
    /** Lost or refused need a named sign-off before the recall can close. */
    signedOffBy: text("signed_off_by")
      .$type<StaffId>()
      .references(() => staff.id),
    changedAt: instantColumn("changed_at").notNull(),
  },
  (table) => [primaryKey({ columns: [table.recallId, table.unitSerial] })],
);

export const visit = sqliteTable(
  "visit",
  {
    id: text("id").$type<VisitId>().primaryKey(),
    kind: text("kind").$type<"swap" | "collection">().notNull(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    day: text("day").$type<LocalDay>().notNull(),
    doneBy: text("done_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    replacementSerial: text("replacement_serial")
      .$type<UnitSerial>()
      .references(() => unit.serial),
    reason: text("reason").notNull(),
    status: text("status").$type<"planned" | "done" | "cancelled" | "no-access">().notNull(),
    createdAt: instantColumn("created_at").notNull(),
    closedAt: instantColumn("closed_at"),
  },
  (table) => [
    index("visit_day").on(table.day, table.status),
    check("visit_swap_has_replacement", sql`kind <> 'swap' or replacement_serial is not null`),
  ],
);
