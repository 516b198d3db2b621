import type { VisitId } from "../domain/ids.ts";
import { type DoorstepFinding, type DoorstepStep, doorstepNote } from "../domain/lifecycle/doorstep.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { closeVisit, visitById } from "../store/visits.ts";
import { judgeWithNote, noteWithin } from "./note-on-loan.ts";
import { releaseReservation } from "./release-reservation.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface CallOffVisitRequest {
  readonly visit: VisitId;
  /** `no-access`: someone was there and could not do it. `cancelled`: nobody went. */
  readonly as: "no-access" | "cancelled";
  /** What was done at the door, and what is known of why nobody came to it. */
  readonly door?: {
    readonly found: DoorstepFinding;
    readonly steps: readonly DoorstepStep[];
    /** Where they are in hospital: since when. null: not known, so from now. */
    readonly since: Instant | null;
  };
}

type CallOffRule = "unknown-visit" | "visit-closed" | "since-to-come";

/** Closes a visit that did not happen. The loan goes on; the unit it would have brought is free again. What was learned at
 *  the door is a note on the loan: a stay in hospital has gaps over its time judged again with it. */
export async function callOffVisit(
  services: Services,
  actor: StaffActor,
  request: CallOffVisitRequest,
): Promise<{ readonly kind: "called-off" } | Refused<CallOffRule>> {
  const { door } = request;
  const outcome = services.db.transaction(
    (tx) => {
      const visit = visitById(tx, request.visit);
      if (visit === null) return refused("unknown-visit", "There is no such visit.");
      if (visit.status !== "planned")
        return refused("visit-closed", "This visit is closed already. Nothing was done twice.");
      const now = services.clock.now();
      if (door && door.since !== null && door.since > now)
        return refused("since-to-come", "They can’t be in hospital since a time that is still to come.");
      closeVisit(tx, visit.id, request.as, now);
      releaseReservation(tx, visit.replacementSerial, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "call-off-visit",
        subject: `visit:${visit.id}`,
        detail: {
          loan: visit.loanReference,
          as: request.as,
          ...(door ? { found: door.found, steps: door.steps } : {}),
        },
      });
      const note = door && {
        loan: visit.loanId,
        kind: door.found === "in-hospital" ? ("hospital" as const) : ("call" as const),
        from: door.found === "in-hospital" ? (door.since ?? now) : now,
        until: null,
        text: doorstepNote(door.found, door.steps),
      };
      if (note) noteWithin(services, tx, actor, note);
      return { kind: "called-off", loan: visit.loanId, note } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("stores", "clinic", `loan:${outcome.loan}`);
  if (outcome.note) await judgeWithNote(services, outcome.note);
  return { kind: "called-off" };
}
