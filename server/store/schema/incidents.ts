import { index, integer, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { IncidentId, LoanId, UnitSerial } from "../../domain/ids.ts";
import type { ScopeKind } from "../../domain/incidents/silence-scopes.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";

/** Many units silent together: one record for all of them. */
export const incident = sqliteTable(
  "incident",
  {
    id: text("id").$type<IncidentId>().primaryKey(),
    startsAt: instantColumn("starts_at").notNull(),
    /** null: goes on. */
    endsAt: instantColumn("ends_at"),
    foundAt: instantColumn("found_at").notNull(),
    scope: text("scope").$type<ScopeKind>().notNull(),
    /** What they share, e.g. the area's name; empty where it is the whole programme. */
    scopeName: text("scope_name").notNull(),
    /** Units that share the scope and were expected to record. */
    expected: integer("expected").notNull(),
  },
  (table) => [index("incident_ends").on(table.endsAt), index("incident_starts").on(table.startsAt)],
);

export const incidentUnit = sqliteTable(
  "incident_unit",
  {
    incidentId: text("incident_id")
      .$type<IncidentId>()
      .notNull()
      .references(() => incident.id),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    silentFrom: instantColumn("silent_from").notNull(),
    /** When we heard from it again. null: not yet. */
    backAt: instantColumn("back_at"),
  },
  (table) => [
    primaryKey({ columns: [table.incidentId, table.loanId] }),
    index("incident_unit_loan").on(table.loanId),
  ],
);
