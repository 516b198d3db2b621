import { sql } from "drizzle-orm";
import { index, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type {
  CommandAnswer,
  CommandKind,
  CommandState,
  SelfTestFound,
} from "../../domain/commands/command.ts";
import type { CertificateSerial, CommandId, StaffId, UnitSerial } from "../../domain/ids.ts";
import type { Instant } from "../../domain/units.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { staff } from "./staff.ts";

/** What goes with a command, and what a renewal has come to. */
export interface CommandBody {
  readonly planVersion?: number;
  readonly renewal?: RenewalAnswered;
}

export interface RenewalAnswered {
  /** The unit's request, by boot and sequence of its message. */
  readonly boot: number;
  readonly sequence: number;
  readonly certificate: CertificateSerial;
  /** What it takes the place of as soon as it has been used. */
  readonly replaces: readonly CertificateSerial[];
  readonly usedAt: Instant | null;
}

/** Something a unit was asked to do once. */
export const unitCommand = sqliteTable(
  "unit_command",
  {
    id: text("id").$type<CommandId>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    kind: text("kind").$type<CommandKind>().notNull(),
    body: text("body", { mode: "json" }).$type<CommandBody>().notNull(),
    issuedAt: instantColumn("issued_at").notNull(),
    /** null: the programme itself, or the unit of its own accord. */
    issuedBy: text("issued_by")
      .$type<StaffId>()
      .references(() => staff.id),
    expiresAt: instantColumn("expires_at").notNull(),
    /** When the unit acknowledged the command; it may yet refuse it. */
    sentAt: instantColumn("sent_at"),
    state: text("state").$type<CommandState>().notNull(),
    answer: text("answer", { mode: "json" }).$type<CommandAnswer>(),
    answeredAt: instantColumn("answered_at"),
    found: text("found", { mode: "json" }).$type<SelfTestFound>(),
  },
  (table) => [
    index("unit_command_unit").on(table.unitSerial, table.issuedAt),
    index("unit_command_open").on(table.expiresAt).where(sql`state in ('waiting', 'sent', 'accepted')`),
  ],
);
