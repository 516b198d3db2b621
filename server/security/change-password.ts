import { createHash } from "node:crypto";
import type { StaffId } from "../domain/ids.ts";
import { milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { credentialsOf, setPasswordHash } from "../store/staff.ts";
import { takeAttempt } from "../store/throttle.ts";
import { hashPassword, type PasswordProblem, passwordMatches, passwordProblem } from "./passwords.ts";
import { closeSessionsOf, openSession } from "./sessions.ts";

export type PasswordChange =
  /** Every session ended; this is the new one of whoever changed it. */
  | { readonly kind: "changed"; readonly token: string }
  | { readonly kind: "not-the-current-password" }
  | { readonly kind: "too-many-attempts" }
  | { readonly kind: "not-acceptable"; readonly problem: PasswordProblem };

const attempts = { limit: 5, window: milliseconds(15 * millisecondsIn.minute) };

/** Changes one's own password and signs out everywhere else. */
export async function changePassword(
  services: Services,
  id: StaffId,
  given: { current: string; chosen: string },
): Promise<PasswordChange> {
  const { db, clock } = services;
  const member = credentialsOf(db, id);
  if (!member) throw new Error("a signed-in member of staff has no account");
  const key = `change-password:${createHash("sha256").update(id).digest("hex").slice(0, 32)}`;
  if (!takeAttempt(db, key, clock.now(), attempts)) return { kind: "too-many-attempts" };
  // One of a demonstration's cast has none, and can't be given one.
  if (member.passwordHash === null || !(await passwordMatches(member.passwordHash, given.current))) {
    return { kind: "not-the-current-password" };
  }
  const problem = passwordProblem(given.chosen, member.login);
  if (problem !== null) return { kind: "not-acceptable", problem };
  const passwordHash = await hashPassword(given.chosen);
  return db.transaction((tx): PasswordChange => {
    setPasswordHash(tx, id, passwordHash);
    closeSessionsOf(tx, id);
    const actor = { kind: "staff", id } as const;
    appendAudit(tx, {
      at: clock.now(),
      actor,
      action: "change-password",
      subject: `staff:${id}`,
      detail: {},
    });
    return { kind: "changed", token: openSession({ ...services, db: tx }, id) };
  });
}
