import { type Forgetting, forgettingOf } from "../domain/bench/forgetting.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { hours } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { usableCertificatesOf } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { lastReturnOf, openLoanOfUnit } from "../store/loans.ts";
import { lastCommandOf } from "../store/unit-commands.ts";
import { type HoldRule, heldSession, type SessionSeen } from "./bench-held.ts";
import { issueWithin, tellOfCommand } from "./command-unit.ts";
import type { StaffActor } from "./staff-actor.ts";

export type ForgetRule = HoldRule | "on-loan" | "not-connected" | "asked-already";

/** The unit lies on the bench, and has perhaps a month to hand over first. Assumption. */
const lifetime = hours(4);

/** What is known of what this unit still keeps. */
export function forgettingOfUnit(db: Database, unit: UnitSerial): Forgetting {
  const lentUntil = lastReturnOf(db, unit);
  const asked = lentUntil === null ? null : lastCommandOf(db, unit, "forget", lentUntil);
  return forgettingOf(lentUntil, asked && { ...asked, reason: asked.answer?.reason ?? null });
}

/** Tells a unit to forget all it keeps of the person it was lent to. The session's certificate is the way in: off loan
 *  there is no other. What it keeps has to arrive first, so nothing on record is lost by it. */
export function askToForget(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
): { readonly kind: "asked" } | Refused<ForgetRule> {
  const outcome = services.db.transaction((tx) => askWithin(tx, services, actor, seen), {
    behavior: "immediate",
  });
  if (outcome.kind === "refused") return outcome;
  tellOfCommand(services, outcome.unit);
  return { kind: "asked" };
}

function askWithin(db: Database, services: Services, actor: StaffActor, seen: SessionSeen) {
  const held = heldSession(db, actor.id, seen);
  if (held.kind === "refused") return held;
  const { unitSerial: unit, id } = held.session;
  const at = services.clock.now();
  if (openLoanOfUnit(db, unit) !== null)
    return refused("on-loan", "It is on loan: what it keeps belongs to a record that still grows.");
  if (usableCertificatesOf(db, unit, at).length === 0)
    return refused("not-connected", "It can’t be reached: pair it for this session first.");
  if (forgettingOfUnit(db, unit).kind === "under-way")
    return refused("asked-already", "It has been asked that already, and has not answered yet.");
  const { command } = issueWithin(db, services, { unit, kind: "forget", lifetime, body: {}, by: actor });
  appendAudit(db, {
    at,
    actor,
    action: "ask-unit-to-forget",
    subject: `bench-session:${id}`,
    detail: { unit, command },
  });
  return { kind: "asked", unit } as const;
}
