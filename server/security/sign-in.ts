import { createHash } from "node:crypto";
import { milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { credentialsByLogin, loginForm, type StaffMember } from "../store/staff.ts";
import { forgetAttempts, takeAttempt } from "../store/throttle.ts";
import { nobodysHash, passwordMatches } from "./passwords.ts";
import { openSession } from "./sessions.ts";

const window = milliseconds(15 * millisecondsIn.minute);
/** Assumptions: a person mistypes a few times; a building behind one address signs in many people. */
const perLoginAndAddress = { limit: 5, window };
const perAddress = { limit: 100, window };

export type SignInAnswer =
  | { readonly kind: "signed-in"; readonly token: string; readonly staff: StaffMember }
  /** One answer for an unknown name, a wrong password and a disabled account: it tells a guesser nothing. */
  | { readonly kind: "not-accepted" }
  | { readonly kind: "too-many-attempts" };

/** Checks a password and opens a session. Every outcome is in the audit log. */
export async function signIn(
  services: Services,
  attempt: { login: string; password: string; address: string },
): Promise<SignInAnswer> {
  const { db } = services;
  const key = attemptKey("sign-in", loginForm(attempt.login), attempt.address);
  if (!takeSignInAttempt(services, key, attempt.address)) {
    noteThrottled(services, key);
    return { kind: "too-many-attempts" };
  }
  const found = credentialsByLogin(db, attempt.login);
  const matches = await passwordMatches(found?.passwordHash ?? (await nobodysHash()), attempt.password);
  if (!found || found.passwordHash === null || !matches || found.disabledAt !== null) {
    noteRefused(services, found, matches);
    return { kind: "not-accepted" };
  }
  const token = db.transaction((tx) => {
    forgetAttempts(tx, key);
    appendAudit(tx, {
      at: services.clock.now(),
      actor: { kind: "staff", id: found.id },
      action: "sign-in",
      subject: `staff:${found.id}`,
      detail: {},
    });
    return openSession({ ...services, db: tx }, found.id);
  });
  return { kind: "signed-in", token, staff: found };
}

// Kept as a digest: the table of attempts is no list of who works here or from where.
const attemptKey = (purpose: string, ...parts: string[]): string =>
  `${purpose}:${createHash("sha256").update(JSON.stringify(parts)).digest("hex").slice(0, 32)}`;

function takeSignInAttempt({ db, clock }: Services, key: string, address: string): boolean {
  const now = clock.now();
  return db.transaction((tx) => {
    const byAddress = takeAttempt(tx, attemptKey("sign-in-address", address), now, perAddress);
    return takeAttempt(tx, key, now, perLoginAndAddress) && byAddress;
  });
}

/** Once a window: a flood of refused attempts must not become a flood of audit rows. */
function noteThrottled({ db, clock }: Services, key: string): void {
  const at = clock.now();
  db.transaction((tx) => {
    if (!takeAttempt(tx, `${key}:noted`, at, { limit: 1, window })) return;
    appendAudit(tx, {
      at,
      actor: { kind: "system" },
      action: "refuse-sign-in",
      subject: "sign-in",
      detail: { reason: "too many attempts" },
    });
  });
}

function noteRefused({ db, clock }: Services, found: StaffMember | null, matches: boolean): void {
  const reason = !found
    ? "unknown name"
    : found.disabledAt !== null
      ? "account is disabled"
      : !found.hasPassword
        ? "invitation not taken up"
        : matches
          ? "refused"
          : "wrong password";
  appendAudit(db, {
    at: clock.now(),
    actor: { kind: "system" },
    action: "refuse-sign-in",
    subject: found ? `staff:${found.id}` : "sign-in",
    detail: { reason },
  });
}
