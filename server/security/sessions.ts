import type { Role } from "../domain/access/roles.ts";
import type { StaffId } from "../domain/ids.ts";
import { after, type Instant, type Milliseconds, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import {
  addSession,
  removeSession,
  removeSessionsExpiredBy,
  removeSessionsOf,
  sessionByTokenHash,
  touchSession,
} from "../store/sessions.ts";
import { storageFaultOf } from "../store/storage-fault.ts";
import { newToken, tokenHashOf } from "./tokens.ts";

/** Signed out after this long without a page being asked for. Assumption: a clinic's shared computer. */
export const idleLimit: Milliseconds = milliseconds(60 * millisecondsIn.minute);
/** Signed out this long after signing in, whatever is done meanwhile. Assumption: one working day. */
export const absoluteLimit: Milliseconds = milliseconds(12 * millisecondsIn.hour);
/** Use is noted this often, so that reading pages rarely writes. */
const noteUseEvery: Milliseconds = milliseconds(millisecondsIn.minute);

export interface CurrentSession {
  readonly staff: { readonly id: StaffId; readonly name: string; readonly role: Role };
  readonly csrfToken: string;
}

type SessionServices = Pick<Services, "db" | "clock" | "chance">;

/** A new session with a new secret each time, so that one planted before signing in is worth nothing after.
 *  @returns what goes into the cookie. */
export function openSession({ db, clock, chance }: SessionServices, staffId: StaffId): string {
  const now = clock.now();
  const token = newToken(chance);
  removeSessionsExpiredBy(db, now);
  addSession(db, {
    tokenHash: tokenHashOf(token),
    staffId,
    csrfToken: newToken(chance),
    createdAt: now,
    lastSeenAt: now,
    expiresAt: after(now, absoluteLimit),
  });
  return token;
}

/** Whose session this is, if it is still good.
 *  @param counts false when a page renews itself: an unattended screen must still time out. */
export function sessionOf(
  { db, clock }: Pick<Services, "db" | "clock">,
  token: string,
  counts: boolean,
): CurrentSession | null {
  const now = clock.now();
  const tokenHash = tokenHashOf(token);
  const found = sessionByTokenHash(db, tokenHash);
  if (!found) return null;
  if (found.disabledAt !== null || isOver(found, now)) {
    ifItCanBeSaved(() => removeSession(db, tokenHash));
    return null;
  }
  if (counts && now - found.lastSeenAt >= noteUseEvery)
    ifItCanBeSaved(() => touchSession(db, tokenHash, now));
  return {
    staff: { id: found.staffId, name: found.name, role: found.role },
    csrfToken: found.csrfToken,
  };
}

/** While nothing can be saved, pages can still be read: a session then ends a little earlier, or is cleared up later. */
function ifItCanBeSaved(act: () => void): void {
  try {
    act();
  } catch (error) {
    if (storageFaultOf(error) === null) throw error;
  }
}

const isOver = (session: { lastSeenAt: Instant; expiresAt: Instant }, now: Instant): boolean =>
  now >= session.expiresAt || now - session.lastSeenAt >= idleLimit;

export const closeSession = (db: Database, token: string): void => removeSession(db, tokenHashOf(token));

/** Signs someone out everywhere: after a password change or when the account is disabled. */
export const closeSessionsOf = (db: Database, staffId: StaffId): void => removeSessionsOf(db, staffId);
