import { sql } from "drizzle-orm";
import { index, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import type { OutcomeId, StaffId, StretchId, TestRequestId } from "../../domain/ids.ts";
import type { OutcomeSource } from "../../domain/learning/outcome.ts";
import type { Side, Verdict } from "../../domain/verdicts/verdict.ts";
import { instantColumn } from "./columns.ts";
import { staff } from "./staff.ts";
import { stretch } from "./verdicts.ts";

/** A test that would settle a stretch, put on the list of the desk that can do it. */
export const testRequest = sqliteTable(
  "test_request",
  {
    id: text("id").$type<TestRequestId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    test: text("test").notNull(),
    desk: text("desk").$type<"stores" | "bench" | "clinic">().notNull(),
    askedBy: text("asked_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    askedAt: instantColumn("asked_at").notNull(),
    /** Which of the test's outcomes it had. null: not done yet, or called off. */
    result: text("result"),
    doneBy: text("done_by")
      .$type<StaffId>()
      .references(() => staff.id),
    doneAt: instantColumn("done_at"),
    calledOffAt: instantColumn("called_off_at"),
  },
  (table) => [
    index("test_request_stretch").on(table.stretchId),
    index("test_request_desk").on(table.desk, table.doneAt),
    // Two presses ask once.
    uniqueIndex("test_request_open")
      .on(table.stretchId, table.test)
      .where(sql`done_at is null and called_off_at is null`),
  ],
);

/** What a stretch turned out to be, by somebody who found out. Never written from a verdict. */
export const stretchOutcome = sqliteTable(
  "stretch_outcome",
  {
    id: text("id").$type<OutcomeId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    source: text("source").$type<OutcomeSource>().notNull(),
    side: text("side").$type<Side>().notNull(),
    /** Id in the catalogue. null: only the side was learned. */
    cause: text("cause"),
    /** The verdict held at that moment, which it scores. null: there was none. */
    held: text("held", { mode: "json" }).$type<Verdict>(),
    /** Which starting shares the stretch was judged by. */
    priorTable: text("prior_table").notNull(),
    /** Clue values seen of it, so that evidence tables can be counted: [[clue, value], ...]. */
    clues: text("clues", { mode: "json" }).$type<readonly (readonly [string, string])[]>().notNull(),
    recordedBy: text("recorded_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    recordedAt: instantColumn("recorded_at").notNull(),
  },
  (table) => [index("stretch_outcome_stretch").on(table.stretchId, table.recordedAt)],
);
