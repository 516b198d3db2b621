import { blob, index, integer, primaryKey, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import type { UnitSerial } from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";

/** The raw record as it arrives, in the order of arrival: a unit's latest messages, until they are packed. There is no
 *  index by unit: with many units each row would touch a page of its own (see telemetry-recent.ts). */
export const message = sqliteTable("message", {
  id: integer("id").primaryKey({ autoIncrement: true }),
  unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
  boot: integer("boot").notNull(),
  sequence: integer("sequence").notNull(),
  kind: text("kind").notNull(),
  receivedAt: instantColumn("received_at").notNull(),
  /** Span of the record in true time; null until its boot can be placed. */
  startsAt: instantColumn("starts_at"),
  endsAt: instantColumn("ends_at"),
  payload: blob("payload", { mode: "buffer" }).notNull(),
});

/** The raw record, packed: the messages of one day of a boot, each as it was sent. Days are counted by the unit's own
 *  uptime, so that a boot given another place in time keeps its blocks. */
export const messageBlock = sqliteTable(
  "message_block",
  {
    id: integer("id").primaryKey(),
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    bootDay: integer("boot_day").notNull(),
    /** Above 0 where one block would grow too large. */
    part: integer("part").notNull(),
    fromSequence: integer("from_sequence").notNull(),
    toSequence: integer("to_sequence").notNull(),
    messages: integer("messages").notNull(),
    /** Uptime zero in true time, as the first message was placed; the others count from it. */
    bootedAt: instantColumn("booted_at").notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    lastReceivedAt: instantColumn("last_received_at").notNull(),
    /** Range of `message.id` the messages had. All of a unit's messages up to its greatest `last_id` are packed. */
    firstId: integer("first_id").notNull(),
    lastId: integer("last_id").notNull(),
    hasHello: integer("has_hello", { mode: "boolean" }).notNull(),
    hasFault: integer("has_fault", { mode: "boolean" }).notNull(),
    data: blob("data", { mode: "buffer" }).notNull(),
  },
  (table) => [
    uniqueIndex("message_block_name").on(table.unitSerial, table.boot, table.bootDay, table.part),
    index("message_block_sequences").on(table.unitSerial, table.boot, table.toSequence, table.fromSequence),
    index("message_block_time").on(table.unitSerial, table.endsAt, table.startsAt, table.lastId),
  ],
);

/** How a boot's uptime maps to true time: true = uptime + offset, give or take `error`. */
export const bootAnchor = sqliteTable(
  "boot_anchor",
  {
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    /** Milliseconds since 1970 at uptime zero. */
    bootedAt: instantColumn("booted_at").notNull(),
    errorSeconds: integer("error_seconds").notNull(),
    /** `clock`: the unit's set clock said so. `arrival`: only an upper bound from when a message came. */
    basis: text("basis").$type<"clock" | "arrival">().notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.boot] })],
);

/** Maximal runs of sequences settled, so that receipts and holes cost a few rows whatever the history. Those of
 *  messages not packed yet needn't be in here: they are in `message`. */
export const storedRange = sqliteTable(
  "stored_range",
  {
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    fromSequence: integer("from_sequence").notNull(),
    toSequence: integer("to_sequence").notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.boot, table.fromSequence] })],
);

/** Messages that could not be read, with the reason: kept, counted, shown; never dropped silently. */
export const keptAside = sqliteTable(
  "kept_aside",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    /** The unit whose certificate sent it. */
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    topic: text("topic").notNull(),
    receivedAt: instantColumn("received_at").notNull(),
    clause: text("clause").notNull(),
    reason: text("reason").notNull(),
    /** SHA-256 of the payload: a resend of the same bytes is the same row, counted. */
    digest: text("digest").notNull(),
    times: integer("times").notNull(),
    payload: blob("payload", { mode: "buffer" }).notNull(),
  },
  (table) => [uniqueIndex("kept_aside_once").on(table.unitSerial, table.digest)],
);
