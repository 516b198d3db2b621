import { sql } from "drizzle-orm";
import { index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import type { LoanId, NoteId, StaffId, StretchId, VerdictId } from "../../domain/ids.ts";
import type { Side, StretchKind, Verdict } from "../../domain/verdicts/verdict.ts";
import { instantColumn } from "./columns.ts";
import { loan } from "./loans.ts";
import { staff } from "./staff.ts";

export const stretch = sqliteTable(
  "stretch",
  {
    id: text("id").$type<StretchId>().primaryKey(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    kind: text("kind").$type<StretchKind>().notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at"),
    firstSeenAt: instantColumn("first_seen_at").notNull(),
    filledAt: instantColumn("filled_at"),
  },
  (table) => [
    index("stretch_loan").on(table.loanId, table.startsAt),
    // What the fleet's gaps of the last weeks are found by, however long the history.
    index("stretch_begun").on(table.kind, table.startsAt, table.endsAt),
    // Gaps that reach further than a day, which are few: whoever asks what overlaps a moment looks a day back, and here.
    index("stretch_long")
      .on(table.startsAt, table.endsAt)
      .where(sql`kind = 'gap' and (ends_at is null or ends_at - starts_at > 86400000)`),
  ],
);

export const verdict = sqliteTable(
  "verdict",
  {
    id: text("id").$type<VerdictId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    computedAt: instantColumn("computed_at").notNull(),
    supersededAt: instantColumn("superseded_at"),
    outcome: text("outcome").$type<Side | "not-settled">().notNull(),
    probability: integer("probability_ppm").notNull(),
    verdict: text("verdict", { mode: "json" }).$type<Verdict>().notNull(),
  },
  (table) => [
    index("verdict_stretch").on(table.stretchId, table.computedAt),
    uniqueIndex("verdict_one_current").on(table.stretchId).where(sql`superseded_at is null`),
  ],
);

/** What a clinician learned of a stretch: never overwritten by a computation, shown beside it. */
export const learned = sqliteTable(
  "learned",
  {
    id: text("id").$type<NoteId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    agrees: integer("agrees", { mode: "boolean" }).notNull(),
    side: text("side").$type<Side>(),
    text: text("text").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    writtenAt: instantColumn("written_at").notNull(),
  },
  (table) => [index("learned_stretch").on(table.stretchId)],
);
