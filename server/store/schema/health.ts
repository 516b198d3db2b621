import { index, integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { ConditionLevel, FindingKind } from "../../domain/condition/condition.ts";
import type { FindingId, StaffId, UnitSerial } from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { staff } from "./staff.ts";

export const finding = sqliteTable(
  "finding",
  {
    id: text("id").$type<FindingId>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    kind: text("kind").$type<FindingKind>().notNull(),
    place: text("place").notNull(),
    level: text("level").$type<ConditionLevel>().notNull(),
    probability: integer("probability_ppm").notNull(),
    sentence: text("sentence").notNull(),
    mistakenFor: text("mistaken_for").notNull(),
    settledBy: text("settled_by").notNull(),
    since: instantColumn("since").notNull(),
    /** When it was first found. null: before that was kept, taken to be `since`. */
    raisedAt: instantColumn("raised_at"),
    lastSeenAt: instantColumn("last_seen_at").notNull(),
    clearedAt: instantColumn("cleared_at"),
    judgement: text("judgement").$type<"confirmed" | "refuted">(),
    judgedBy: text("judged_by")
      .$type<StaffId>()
      .references(() => staff.id),
    judgedAt: instantColumn("judged_at"),
  },
  (table) => [index("finding_unit").on(table.unitSerial, table.clearedAt)],
);

/** The last health assessment of a unit, for lists; details are recomputed from the record. */
export const unitAssessment = sqliteTable("unit_assessment", {
  unitSerial: text("unit_serial")
    .$type<UnitSerial>()
    .primaryKey()
    .references(() => unit.serial),
  assessedAt: instantColumn("assessed_at").notNull(),
  level: text("level").$type<ConditionLevel>().notNull(),
  reason: text("reason").notNull(),
  nextStep: text("next_step").notNull(),
  since: instantColumn("since"),
  /** Whether enough was seen of its charges to tell a cell that has faded. */
  capacityTold: integer("capacity_told", { mode: "boolean" }).notNull().default(false),
  /** JSON: per lean direction, of ten reliefs how many would be seen. */
  visibility: text("visibility", { mode: "json" }).$type<
    Record<string, { low: number; best: number; high: number }>
  >(),
});
