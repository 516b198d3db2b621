import { and, eq, isNull } from "drizzle-orm";
import type { StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { invitation } from "./schema/staff.ts";

export interface StoredInvitation {
  readonly tokenHash: string;
  /** null: sets up the first administrator. */
  readonly staffId: StaffId | null;
  readonly expiresAt: Instant;
  readonly usedAt: Instant | null;
}

export function invitationByTokenHash(db: Database, tokenHash: string): StoredInvitation | null {
  return db.select().from(invitation).where(eq(invitation.tokenHash, tokenHash)).get() ?? null;
}

export function addInvitation(db: Database, row: typeof invitation.$inferInsert): void {
  db.insert(invitation).values(row).run();
}

/** Unused links for the same person (or for the first administrator) stop working when a new one is made. */
export function removeUnusedInvitations(db: Database, staffId: StaffId | null): void {
  const whose = staffId === null ? isNull(invitation.staffId) : eq(invitation.staffId, staffId);
  db.delete(invitation)
    .where(and(whose, isNull(invitation.usedAt)))
    .run();
}

/** @returns false when someone else used it first. */
export function spendInvitation(db: Database, tokenHash: string, at: Instant): boolean {
  const result = db
    .update(invitation)
    .set({ usedAt: at })
    .where(and(eq(invitation.tokenHash, tokenHash), isNull(invitation.usedAt)))
    .run();
  return result.changes === 1;
}
