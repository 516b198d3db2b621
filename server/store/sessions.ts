import { eq, lt } from "drizzle-orm";
import type { Role } from "../domain/access/roles.ts";
import type { StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { session, staff } from "./schema/staff.ts";

export interface StoredSession {
  readonly staffId: StaffId;
  readonly name: string;
  readonly role: Role;
  readonly csrfToken: string;
  readonly lastSeenAt: Instant;
  readonly expiresAt: Instant;
  readonly disabledAt: Instant | null;
}

export function sessionByTokenHash(db: Database, tokenHash: string): StoredSession | null {
  const row = db
    .select({
      staffId: session.staffId,
      name: staff.name,
      role: staff.role,
      csrfToken: session.csrfToken,
      lastSeenAt: session.lastSeenAt,
      expiresAt: session.expiresAt,
      disabledAt: staff.disabledAt,
    })
    .from(session)
    .innerJoin(staff, eq(staff.id, session.staffId))
    .where(eq(session.tokenHash, tokenHash))
    .get();
  return row ?? null;
}

export function addSession(db: Database, row: typeof session.$inferInsert): void {
  db.insert(session).values(row).run();
}

export function touchSession(db: Database, tokenHash: string, at: Instant): void {
  db.update(session).set({ lastSeenAt: at }).where(eq(session.tokenHash, tokenHash)).run();
}

export function removeSession(db: Database, tokenHash: string): void {
  db.delete(session).where(eq(session.tokenHash, tokenHash)).run();
}

export function removeSessionsOf(db: Database, staffId: StaffId): void {
  db.delete(session).where(eq(session.staffId, staffId)).run();
}

export function removeSessionsExpiredBy(db: Database, now: Instant): void {
  db.delete(session).where(lt(session.expiresAt, now)).run();
}
