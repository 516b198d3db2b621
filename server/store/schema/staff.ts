import { integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { Role } from "../../domain/access/roles.ts";
import type { StaffId } from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";

export const staff = sqliteTable("staff", {
  id: text("id").$type<StaffId>().primaryKey(),
  /** What they sign in with, lower case. */
  login: text("login").notNull().unique(),
  name: text("name").notNull(),
  role: text("role").$type<Role>().notNull(),
  /** argon2id, in its standard encoded form; null until an invitation is taken up. */
  passwordHash: text("password_hash"),
  createdAt: instantColumn("created_at").notNull(),
  disabledAt: instantColumn("disabled_at"),
});

export const session = sqliteTable("session", {
  /** SHA-256 of the cookie's token: the table alone opens nothing. */
  tokenHash: text("token_hash").primaryKey(),
  staffId: text("staff_id")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
  csrfToken: text("csrf_token").notNull(),
  createdAt: instantColumn("created_at").notNull(),
  lastSeenAt: instantColumn("last_seen_at").notNull(),
  expiresAt: instantColumn("expires_at").notNull(),
});

/** A one-time link: the first administrator's set-up, or an invitation to choose a password. */
export const invitation = sqliteTable("invitation", {
  tokenHash: text("token_hash").primaryKey(),
  /** null: sets up the first administrator. */
  staffId: text("staff_id")
    .$type<StaffId>()
    .references(() => staff.id),
  createdAt: instantColumn("created_at").notNull(),
  expiresAt: instantColumn("expires_at").notNull(),
  usedAt: instantColumn("used_at"),
});

/** Counts of attempts within a window, kept across restarts so that a restart doesn't reset a guesser's budget. */
export const throttle = sqliteTable("throttle", {
  key: text("key").primaryKey(),
  windowStart: instantColumn("window_start").notNull(),
  attempts: integer("attempts").notNull(),
});

export const setting = sqliteTable("setting", {
  name: text("name").primaryKey(),
  value: text("value").notNull(),
  changedAt: instantColumn("changed_at").notNull(),
  changedBy: text("changed_by")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
});
