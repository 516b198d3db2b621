import type { StepId } from "../domain/bench/steps.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { benchSessionById, changeBenchSession } from "../store/bench-sessions.ts";
import { latestStep, saveStep } from "../store/bench-steps.ts";
import { endConnection } from "./bench-connection.ts";
import { type HoldRule, heldSession, type SessionSeen } from "./bench-held.ts";
import type { StaffActor } from "./staff-actor.ts";

export type Moved = { readonly kind: "moved" } | Refused<HoldRule>;

/** Goes to another step: that is where the session is taken up again. */
export function goToStep(services: Services, actor: StaffActor, seen: SessionSeen, step: StepId): Moved {
  return inSession(services, actor, seen, (tx, at) => {
    changeBenchSession(tx, seen.session, seen.version, { at, step, asked: null });
  });
}

/** Begins another attempt at a step; the attempts before stay on record, and the newest counts. */
export function repeatStep(services: Services, actor: StaffActor, seen: SessionSeen, step: StepId): Moved {
  return inSession(services, actor, seen, (tx, at) => {
    const last = latestStep(tx, seen.session, step);
    if (last === null) return;
    saveStep(tx, {
      sessionId: seen.session,
      step,
      attempt: last.attempt + 1,
      readings: [],
      facts: {},
      judged: null,
      writtenAt: at,
      writtenBy: actor.id,
    });
    changeBenchSession(tx, seen.session, seen.version, { at, step, asked: null });
    appendAudit(tx, {
      at,
      actor,
      action: "repeat-bench-step",
      subject: `bench-session:${seen.session}`,
      detail: { step, attempt: last.attempt + 1 },
    });
  });
}

/** Ends a session without an outcome: the unit stays where it is, and proves nothing. */
export function abandonSession(services: Services, actor: StaffActor, seen: SessionSeen): Moved {
  return inSession(services, actor, seen, (tx, at) => {
    changeBenchSession(tx, seen.session, seen.version, { at, state: "abandoned", asked: null, endedAt: at });
    endConnection(tx, seen.session, at);
    appendAudit(tx, {
      at,
      actor,
      action: "abandon-bench-session",
      subject: `bench-session:${seen.session}`,
      detail: {},
    });
  });
}

/** A technician takes over what another holds. Who held it is in the audit. */
export function takeOverSession(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
): { readonly kind: "moved" } | Refused<"unknown-session" | "session-over" | "changed-meanwhile"> {
  const outcome = services.db.transaction(
    (tx) => {
      const session = benchSessionById(tx, seen.session);
      if (session === null) return refused("unknown-session", "There is no such session.");
      if (session.state !== "open") return refused("session-over", `${session.reference} is over.`);
      const at = services.clock.now();
      if (!changeBenchSession(tx, seen.session, seen.version, { at, heldBy: actor.id }))
        return refused("changed-meanwhile", "It has gone on meanwhile: look again before you take it over.");
      appendAudit(tx, {
        at,
        actor,
        action: "take-over-bench-session",
        subject: `bench-session:${seen.session}`,
        detail: { from: session.heldBy },
      });
      return { kind: "moved", unit: session.unitSerial } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("bench", `unit:${outcome.unit}`);
  return { kind: "moved" };
}

function inSession(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
  act: (tx: Services["db"], at: ReturnType<Services["clock"]["now"]>) => void,
): Moved {
  const outcome = services.db.transaction(
    (tx) => {
      const held = heldSession(tx, actor.id, seen);
      if (held.kind === "refused") return held;
      act(tx, services.clock.now());
      return { kind: "moved", unit: held.session.unitSerial } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("bench", "certificates", `unit:${outcome.unit}`);
  return { kind: "moved" };
}
