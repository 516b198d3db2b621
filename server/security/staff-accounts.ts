import { newId } from "../chance.ts";
import type { Role } from "../domain/access/roles.ts";
import { type StaffId, staffId } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import {
  activeAdministrators,
  addStaff,
  credentialsByLogin,
  setDisabled,
  staffById,
} from "../store/staff.ts";
import { makeInvitation } from "./invitations.ts";
import { closeSessionsOf } from "./sessions.ts";

export type Invited =
  /** The link's secret, to be shown once and handed over. */
  | { readonly kind: "invited"; readonly staffId: StaffId; readonly token: string }
  | { readonly kind: "login-taken" };

/** A new member of staff, who can sign in once the link is taken up. */
export function inviteStaff(
  services: Services,
  by: StaffId,
  member: { login: string; name: string; role: Role },
): Invited {
  return services.db.transaction((tx): Invited => {
    if (credentialsByLogin(tx, member.login)) return { kind: "login-taken" };
    const id = staffId(newId(services.chance, "staff"));
    const at = services.clock.now();
    addStaff(tx, { id, ...member, createdAt: at });
    const token = makeInvitation({ ...services, db: tx }, id);
    const subject = `staff:${id}`;
    const detail = { role: member.role };
    appendAudit(tx, { at, actor: { kind: "staff", id: by }, action: "invite-staff", subject, detail });
    return { kind: "invited", staffId: id, token };
  });
}

export type AccountChange =
  | { readonly kind: "done" }
  | { readonly kind: "no-such-account" }
  | { readonly kind: "own-account" }
  | { readonly kind: "last-administrator" };

/** A fresh link for someone whose first was lost, or who has forgotten the password. The old password works until
 *  the link is used. */
export function inviteAgain(services: Services, by: StaffId, id: StaffId): Invited | AccountChange {
  return services.db.transaction((tx): Invited | AccountChange => {
    if (!staffById(tx, id)) return { kind: "no-such-account" };
    const token = makeInvitation({ ...services, db: tx }, id);
    const at = services.clock.now();
    const actor = { kind: "staff", id: by } as const;
    appendAudit(tx, { at, actor, action: "invite-staff-again", subject: `staff:${id}`, detail: {} });
    return { kind: "invited", staffId: id, token };
  });
}

/** Closes an account, and every session of it, at once. */
export function disableStaff(services: Services, by: StaffId, id: StaffId): AccountChange {
  return services.db.transaction((tx): AccountChange => {
    const member = staffById(tx, id);
    if (!member || member.disabledAt !== null) return { kind: "no-such-account" };
    if (id === by) return { kind: "own-account" };
    const others = activeAdministrators(tx).filter((each) => each.id !== id);
    if (member.role === "administrator" && others.length === 0) return { kind: "last-administrator" };
    const at = services.clock.now();
    setDisabled(tx, id, at);
    closeSessionsOf(tx, id);
    const actor = { kind: "staff", id: by } as const;
    appendAudit(tx, { at, actor, action: "disable-staff", subject: `staff:${id}`, detail: {} });
    return { kind: "done" };
  });
}

/** Opens a closed account again, with the password it had. */
export function enableStaff(services: Services, by: StaffId, id: StaffId): AccountChange {
  return services.db.transaction((tx): AccountChange => {
    const member = staffById(tx, id);
    if (!member || member.disabledAt === null) return { kind: "no-such-account" };
    setDisabled(tx, id, null);
    const actor = { kind: "staff", id: by } as const;
    const at = services.clock.now();
    appendAudit(tx, { at, actor, action: "enable-staff", subject: `staff:${id}`, detail: {} });
    return { kind: "done" };
  });
}
