import { createHash } from "node:crypto";
import { desc } from "drizzle-orm";
import type { StaffId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { audit } from "./schema/audit.ts";

export type Actor =
  | { readonly kind: "staff"; readonly id: StaffId }
  | { readonly kind: "unit"; readonly serial: UnitSerial }
  | { readonly kind: "system" };

export interface AuditEntry {
  readonly at: Instant;
  readonly actor: Actor;
  /** What was decided, in words that need no code: `open-loan`, `refuse-enrolment`. */
  readonly action: string;
  /** What it was decided about: `loan:<id>`, `unit:<serial>`. */
  readonly subject: string;
  /** Reasons and references; never names, addresses or secrets. */
  readonly detail: Readonly<Record<string, unknown>>;
}

const startOfChain = "0".repeat(64);

const actorText = (actor: Actor): string => {
  switch (actor.kind) {
    case "staff":
      return actor.id;
    case "unit":
      return `unit:${actor.serial}`;
    case "system":
      return "system";
  }
};

/** SHA-256 over the previous hash and the row's own fields, so that a changed or missing row breaks every later one. */
export function auditHash(
  previousHash: string,
  row: { at: number; actor: string; action: string; subject: string; detail: unknown },
): string {
  const content = JSON.stringify([previousHash, row.at, row.actor, row.action, row.subject, row.detail]);
  return createHash("sha256").update(content).digest("hex");
}

/** Appends one row. Call it inside the transaction of the change it tells of. */
export function appendAudit(db: Database, entry: AuditEntry): void {
  const last = db.select({ hash: audit.hash }).from(audit).orderBy(desc(audit.id)).limit(1).get();
  const previousHash = last?.hash ?? startOfChain;
  const row = {
    at: entry.at,
    actor: actorText(entry.actor),
    action: entry.action,
    subject: entry.subject,
    detail: { ...entry.detail },
  };
  db.insert(audit)
    .values({ ...row, previousHash, hash: auditHash(previousHash, row) })
    .run();
}

/** null: nothing was ever put down. */
export const lastAuditAt = (db: Database): Instant | null =>
  db.select({ at: audit.at }).from(audit).orderBy(desc(audit.id)).limit(1).get()?.at ?? null;

/** @returns null when every row follows from the one before, else the id of the first that doesn't. */
export function firstBrokenAuditRow(db: Database): number | null {
  let previousHash = startOfChain;
  for (const row of db.select().from(audit).orderBy(audit.id).all()) {
    if (row.previousHash !== previousHash || row.hash !== auditHash(previousHash, row)) return row.id;
    previousHash = row.hash;
  }
  return null;
}
