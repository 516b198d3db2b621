import { sql } from "drizzle-orm";
import { index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import type { BorrowerId, LoanId, NoteId, PlanId, StaffId, UnitSerial } from "../../domain/ids.ts";
import type { LoanNoteKind } from "../../domain/lifecycle/loan-note.ts";
import type { ReliefKind } from "../../domain/record/unit-record.ts";
import type { LocalDay } from "../../domain/time/local-day.ts";
import type { Kilograms, Millimetres, Minutes, Seconds } from "../../domain/units.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { staff } from "./staff.ts";

export const borrower = sqliteTable(
  "borrower",
  {
    id: text("id").$type<BorrowerId>().primaryKey(),
    name: text("name").notNull(),
    area: text("area").notNull(),
    address: text("address").notNull(),
    phone: text("phone").notNull(),
    weight: integer("weight_kg").$type<Kilograms>().notNull(),
    seatWidth: integer("seat_width_mm").$type<Millimetres>().notNull(),
    seatDepth: integer("seat_depth_mm").$type<Millimetres>().notNull(),
    clinicianId: text("clinician_id")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    createdAt: instantColumn("created_at").notNull(),
  },
  (table) => [index("borrower_clinician").on(table.clinicianId), index("borrower_area").on(table.area)],
);

/** Versions by date: the plan in force when a minute happened is the one that judges it. */
export const reliefPlan = sqliteTable(
  "relief_plan",
  {
    id: text("id").$type<PlanId>().primaryKey(),
    borrowerId: text("borrower_id")
      .$type<BorrowerId>()
      .notNull()
      .references(() => borrower.id),
    version: integer("version").notNull(),
    validFrom: instantColumn("valid_from").notNull(),
    interval: integer("interval_minutes").$type<Minutes>().notNull(),
    hold: integer("hold_seconds").$type<Seconds>().notNull(),
    kinds: text("kinds", { mode: "json" }).$type<readonly ReliefKind[]>().notNull(),
    setBy: text("set_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [uniqueIndex("relief_plan_version").on(table.borrowerId, table.version)],
);

/** A unit's time with one borrower. A swap ends one loan and opens the next, which names what it follows. */
export const loan = sqliteTable(
  "loan",
  {
    id: text("id").$type<LoanId>().primaryKey(),
    /** What is written on paper: `L-0042`. */
    reference: text("reference").notNull().unique(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    borrowerId: text("borrower_id")
      .$type<BorrowerId>()
      .notNull()
      .references(() => borrower.id),
    openedAt: instantColumn("opened_at").notNull(),
    /** When the unit was enrolled at the borrower's: data before this are not the borrower's. null: not yet. */
    startedAt: instantColumn("started_at"),
    dueBackOn: text("due_back_on").$type<LocalDay>(),
    endedAt: instantColumn("ended_at"),
    endReason: text("end_reason"),
    followsLoanId: text("follows_loan_id").$type<LoanId>(),
  },
  (table) => [
    index("loan_unit").on(table.unitSerial, table.openedAt),
    index("loan_borrower").on(table.borrowerId, table.openedAt),
    // Of all of a fleet, or of an area, those in force at a moment are counted in these alone.
    index("loan_in_force").on(table.startedAt, table.endedAt),
    index("loan_borrower_in_force").on(table.borrowerId, table.startedAt, table.endedAt),
    // A unit can be on one open loan only, whatever two people press at once.
    uniqueIndex("loan_one_open_per_unit").on(table.unitSerial).where(sql`ended_at is null`),
  ],
);

export const loanNote = sqliteTable(
  "loan_note",
  {
    id: text("id").$type<NoteId>().primaryKey(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    kind: text("kind").$type<LoanNoteKind>().notNull(),
    fromAt: instantColumn("from_at").notNull(),
    untilAt: instantColumn("until_at"),
    text: text("text").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    writtenAt: instantColumn("written_at").notNull(),
  },
  (table) => [index("loan_note_loan").on(table.loanId, table.fromAt)],
);
