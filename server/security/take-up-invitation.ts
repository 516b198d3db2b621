import { newId } from "../chance.ts";
import { type StaffId, staffId } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { spendInvitation } from "../store/invitations.ts";
import { addStaff, credentialsByLogin, setPasswordHash } from "../store/staff.ts";
import { openInvitation } from "./invitations.ts";
import { hashPassword } from "./passwords.ts";
import { closeSessionsOf } from "./sessions.ts";
import { tokenHashOf } from "./tokens.ts";

export type TakenUp =
  | { readonly kind: "taken-up"; readonly staffId: StaffId }
  | { readonly kind: "link-no-longer-works" }
  | { readonly kind: "login-taken" };

/** The invited person chooses a password. Their earlier sessions, if any, end. */
export async function takeUpInvitation(
  services: Services,
  token: string,
  password: string,
): Promise<TakenUp> {
  const passwordHash = await hashPassword(password);
  return services.db.transaction((tx): TakenUp => {
    const invitation = spend(services, tx, token);
    if (!invitation || invitation.staffId === null) return { kind: "link-no-longer-works" };
    setPasswordHash(tx, invitation.staffId, passwordHash);
    closeSessionsOf(tx, invitation.staffId);
    note(services, tx, invitation.staffId, "take-up-invitation");
    return { kind: "taken-up", staffId: invitation.staffId };
  });
}

/** Whoever started the service makes the first administrator's account. */
export async function setUpAdministrator(
  services: Services,
  token: string,
  chosen: { login: string; name: string; password: string },
): Promise<TakenUp> {
  const passwordHash = await hashPassword(chosen.password);
  return services.db.transaction((tx): TakenUp => {
    if (credentialsByLogin(tx, chosen.login)) return { kind: "login-taken" };
    const invitation = spend(services, tx, token);
    if (invitation?.staffId !== null) return { kind: "link-no-longer-works" };
    const id = staffId(newId(services.chance, "staff"));
    addStaff(tx, {
      id,
      login: chosen.login,
      name: chosen.name,
      role: "administrator",
      createdAt: services.clock.now(),
    });
    setPasswordHash(tx, id, passwordHash);
    note(services, tx, id, "set-up-administrator");
    return { kind: "taken-up", staffId: id };
  });
}

/** Of two people using the same link at once, one finds it spent. */
function spend(services: Services, tx: Database, token: string) {
  const invitation = openInvitation({ ...services, db: tx }, token);
  if (!invitation) return null;
  return spendInvitation(tx, tokenHashOf(token), services.clock.now()) ? invitation : null;
}

function note(services: Services, tx: Database, id: StaffId, action: string): void {
  appendAudit(tx, {
    at: services.clock.now(),
    actor: { kind: "staff", id },
    action,
    subject: `staff:${id}`,
    detail: {},
  });
}
