import { index, integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import { instantColumn } from "./columns.ts";

/** Append-only; each row's hash covers the row before it. */
export const audit = sqliteTable(
  "audit",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    at: instantColumn("at").notNull(),
    /** A staff id, `unit:<serial>` or `system`. */
    actor: text("actor").notNull(),
    action: text("action").notNull(),
    subject: text("subject").notNull(),
    detail: text("detail", { mode: "json" }).$type<Record<string, unknown>>().notNull(),
    previousHash: text("previous_hash").notNull(),
    hash: text("hash").notNull(),
  },
  (table) => [index("audit_subject").on(table.subject, table.id)],
);
