import { and, count, desc, eq, lt } from "drizzle-orm";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { audit } from "./schema/audit.ts";

export interface AuditRow {
  readonly id: number;
  readonly at: Instant;
  readonly actor: string;
  readonly action: string;
  readonly subject: string;
  readonly detail: Readonly<Record<string, unknown>>;
}

/** Rows newest first, those before row `before`.
 *  @returns at most `limit` rows, and whether there are older ones */
export function auditBefore(
  db: Database,
  asked: { before?: number | undefined; subject?: string | undefined; limit: number },
): { readonly rows: readonly AuditRow[]; readonly more: boolean } {
  const rows = db
    .select()
    .from(audit)
    .where(
      and(
        asked.before === undefined ? undefined : lt(audit.id, asked.before),
        asked.subject === undefined ? undefined : eq(audit.subject, asked.subject),
      ),
    )
    .orderBy(desc(audit.id))
    .limit(asked.limit + 1)
    .all();
  return { rows: rows.slice(0, asked.limit), more: rows.length > asked.limit };
}

export const auditRowCount = (db: Database): number =>
  db.select({ rows: count() }).from(audit).get()?.rows ?? 0;
