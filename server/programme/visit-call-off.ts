import type { VisitId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { closeVisit, visitById } from "../store/visits.ts";
import { releaseReservation } from "./release-reservation.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface CallOffVisitRequest {
  readonly visit: VisitId;
  /** `no-access`: someone was there and could not do it. `cancelled`: nobody went. */
  readonly as: "no-access" | "cancelled";
}

/** Closes a visit that did not happen. The loan goes on; the unit it would have brought is free again. */
export function callOffVisit(
  services: Services,
  actor: StaffActor,
  request: CallOffVisitRequest,
): { readonly kind: "called-off" } | Refused<"unknown-visit" | "visit-closed"> {
  const outcome = services.db.transaction(
    (tx) => {
      const visit = visitById(tx, request.visit);
      if (visit === null) return refused("unknown-visit", "There is no such visit.");
      if (visit.status !== "planned")
        return refused("visit-closed", "This visit is closed already. Nothing was done twice.");
      const now = services.clock.now();
      closeVisit(tx, visit.id, request.as, now);
      releaseReservation(tx, visit.replacementSerial, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "call-off-visit",
        subject: `visit:${visit.id}`,
        detail: { loan: visit.loanReference, as: request.as },
      });
      return { kind: "called-off", loan: visit.loanId } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("stores", `loan:${outcome.loan}`);
  return { kind: "called-off" };
}
