import { sql } from "drizzle-orm";
import { index, integer, primaryKey, real, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import type { Conclusion, Part, Problem, Seen } from "../../domain/bench/coding.ts";
import type { EquipmentKind } from "../../domain/bench/equipment.ts";
import type { JudgedStep, PointReading, StepFacts } from "../../domain/bench/reading.ts";
import type { Asked, BenchOutcome, SessionState } from "../../domain/bench/session.ts";
import type { StepId } from "../../domain/bench/steps.ts";
import type { BenchTolerances } from "../../domain/bench/tolerances.ts";
import type { BenchSessionId, CodingId, EquipmentId, StaffId, UnitSerial } from "../../domain/ids.ts";
import type { LocalDay } from "../../domain/time/local-day.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { staff } from "./staff.ts";

/** Rigs and weights that known loads come from. */
export const benchEquipment = sqliteTable("bench_equipment", {
  id: text("id").$type<EquipmentId>().primaryKey(),
  kind: text("kind").$type<EquipmentKind>().notNull(),
  name: text("name").notNull().unique(),
  registeredAt: instantColumn("registered_at").notNull(),
  withdrawnAt: instantColumn("withdrawn_at"),
});

/** Each calibration stays: a certificate of ours names the one that was in force. */
export const benchCalibration = sqliteTable(
  "bench_calibration",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    equipmentId: text("equipment_id")
      .$type<EquipmentId>()
      .notNull()
      .references(() => benchEquipment.id),
    certificateReference: text("certificate_reference").notNull(),
    calibratedOn: text("calibrated_on").$type<LocalDay>().notNull(),
    dueOn: text("due_on").$type<LocalDay>().notNull(),
    kilograms: real("kilograms").notNull(),
    expandedUncertainty: real("expanded_uncertainty_kg").notNull(),
    coverageFactor: real("coverage_factor").notNull(),
    resolution: real("resolution_kg").notNull(),
    writtenAt: instantColumn("written_at").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [index("bench_calibration_equipment").on(table.equipmentId, table.id)],
);

export const benchSession = sqliteTable(
  "bench_session",
  {
    id: text("id").$type<BenchSessionId>().primaryKey(),
    /** What is written on paper: `B-0042`. */
    reference: text("reference").notNull().unique(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    state: text("state").$type<SessionState>().notNull(),
    /** Grows with every change: a page that shows an older one is told so. */
    version: integer("version").notNull(),
    heldBy: text("held_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    startedAt: instantColumn("started_at").notNull(),
    touchedAt: instantColumn("touched_at").notNull(),
    step: text("step").$type<StepId>().notNull(),
    asked: text("asked", { mode: "json" }).$type<Asked>(),
    /** As they stood when the session began. */
    tolerances: text("tolerances", { mode: "json" }).$type<BenchTolerances>().notNull(),
    /** Where those that differ from the usual ones come from. */
    tolerancesFrom: text("tolerances_from"),
    /** Places of the grid that hold no cell, as the model said when the session began; null: each holds one. */
    absentCells: text("absent_cells", { mode: "json" }).$type<readonly number[]>(),
    outcome: text("outcome").$type<BenchOutcome>(),
    note: text("note"),
    endedAt: instantColumn("ended_at"),
  },
  (table) => [
    index("bench_session_unit").on(table.unitSerial, table.startedAt),
    uniqueIndex("bench_session_one_open_per_unit").on(table.unitSerial).where(sql`state = 'open'`),
  ],
);

/** One attempt at a step; a repeat is another row, and the newest counts. */
export const benchStepDone = sqliteTable(
  "bench_step_done",
  {
    sessionId: text("session_id")
      .$type<BenchSessionId>()
      .notNull()
      .references(() => benchSession.id),
    step: text("step").$type<StepId>().notNull(),
    attempt: integer("attempt").notNull(),
    readings: text("readings", { mode: "json" }).$type<readonly PointReading[]>().notNull(),
    facts: text("facts", { mode: "json" }).$type<StepFacts>().notNull(),
    /** null while readings are still missing. */
    judged: text("judged", { mode: "json" }).$type<JudgedStep>(),
    writtenAt: instantColumn("written_at").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [primaryKey({ columns: [table.sessionId, table.step, table.attempt] })],
);

/** What the grid read on the bench when it last passed, and what of it doesn't count. */
export const benchBaseline = sqliteTable(
  "bench_baseline",
  {
    sessionId: text("session_id")
      .$type<BenchSessionId>()
      .primaryKey()
      .references(() => benchSession.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    takenAt: instantColumn("taken_at").notNull(),
    rows: integer("grid_rows").notNull(),
    columns: integer("grid_columns").notNull(),
    /** Mean counts of each cell with nothing on it. */
    empty: text("empty", { mode: "json" }).$type<readonly number[]>().notNull(),
    countsPerKilogram: real("counts_per_kg").notNull(),
    temperature: real("temperature_celsius").notNull(),
    masked: text("masked", { mode: "json" }).$type<readonly number[]>().notNull(),
  },
  (table) => [index("bench_baseline_unit").on(table.unitSerial, table.takenAt)],
);

export const benchCertificate = sqliteTable("bench_certificate", {
  /** What stands under the picture on the paper, and in the address it leads to. */
  code: text("code").primaryKey(),
  sessionId: text("session_id")
    .$type<BenchSessionId>()
    .notNull()
    .unique()
    .references(() => benchSession.id),
  issuedAt: instantColumn("issued_at").notNull(),
  jws: text("jws").notNull(),
});

export const faultCoding = sqliteTable(
  "fault_coding",
  {
    id: text("id").$type<CodingId>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    sessionId: text("session_id")
      .$type<BenchSessionId>()
      .references(() => benchSession.id),
    problem: text("problem").$type<Problem>().notNull(),
    seen: text("seen").$type<Seen>().notNull(),
    conclusion: text("conclusion").$type<Conclusion>().notNull(),
    note: text("note"),
    codedAt: instantColumn("coded_at").notNull(),
    codedBy: text("coded_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [index("fault_coding_unit").on(table.unitSerial, table.codedAt)],
);

export const partChange = sqliteTable(
  "part_change",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    codingId: text("coding_id")
      .$type<CodingId>()
      .references(() => faultCoding.id),
    part: text("part").$type<Part>().notNull(),
    /** Serial or lot of what was put in, as on its label. */
    fitted: text("fitted"),
    changedAt: instantColumn("changed_at").notNull(),
    changedBy: text("changed_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [index("part_change_unit").on(table.unitSerial, table.changedAt)],
);
