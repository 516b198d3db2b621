import type { StaffId } from "../domain/ids.ts";
import { after, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import {
  addInvitation,
  invitationByTokenHash,
  removeUnusedInvitations,
  type StoredInvitation,
} from "../store/invitations.ts";
import { activeAdministrators } from "../store/staff.ts";
import { newToken, tokenHashOf } from "./tokens.ts";

/** Assumption: long enough to hand over in person or by post room, short enough not to lie about. */
export const invitationLifetime = milliseconds(24 * millisecondsIn.hour);

type InvitationServices = Pick<Services, "db" | "clock" | "chance">;

/** A one-time link's secret. Earlier unused links for the same person stop working.
 *  @param staffId null for the first administrator's set-up */
export function makeInvitation({ db, clock, chance }: InvitationServices, staffId: StaffId | null): string {
  const now = clock.now();
  const token = newToken(chance);
  removeUnusedInvitations(db, staffId);
  addInvitation(db, {
    tokenHash: tokenHashOf(token),
    staffId,
    createdAt: now,
    expiresAt: after(now, invitationLifetime),
  });
  return token;
}

/** The invitation behind a link, if the link still works. */
export function openInvitation(
  { db, clock }: Pick<Services, "db" | "clock">,
  token: string,
): StoredInvitation | null {
  const found = invitationByTokenHash(db, tokenHashOf(token));
  if (!found || found.usedAt !== null || clock.now() >= found.expiresAt) return null;
  // A set-up link is void once there is an administrator, however that came about.
  return found.staffId === null && !needsSetUp(db) ? null : found;
}

/** Nobody can administer the programme: the first start, or every administrator's account closed. */
export const needsSetUp = (db: Database): boolean => activeAdministrators(db).length === 0;
