import type { RecallId, UnitSerial } from "../domain/ids.ts";
import { needsSignOff, type RecallOutcome } from "../domain/lifecycle/recall-balance.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { recallById, recallUnitOf, setRecallSignOff } from "../store/recalls.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface RecallSignOffRequest {
  readonly recall: RecallId;
  readonly unit: UnitSerial;
  /** What the person saw when signing: a signature answers for that and nothing else. */
  readonly outcome: RecallOutcome;
}

type RecallSignOffRule =
  | "not-on-the-list"
  | "recall-closed"
  | "changed-meanwhile"
  | "needs-none"
  | "already-signed-off";

/** A named person answers for a unit that is lost, or that its borrower won't give back. */
export function signOffRecallUnit(
  services: Services,
  actor: StaffActor,
  request: RecallSignOffRequest,
): { readonly kind: "signed-off" } | Refused<RecallSignOffRule> {
  const outcome = services.db.transaction(
    (tx) => {
      const recall = recallById(tx, request.recall);
      const listed = recallUnitOf(tx, request.recall, request.unit);
      if (recall === null || listed === null)
        return refused("not-on-the-list", `${request.unit} is not on this recall’s list.`);
      if (recall.closedAt !== null) return refused("recall-closed", `${recall.reference} is closed already.`);
      if (listed.outcome !== request.outcome)
        return refused("changed-meanwhile", "Its outcome has changed meanwhile: look again before signing.");
      if (!needsSignOff(listed.outcome))
        return refused("needs-none", "Only a lost or declined unit needs a sign-off.");
      if (listed.signedOffBy !== null)
        return refused(
          "already-signed-off",
          `${request.unit} is signed off already. Nothing was done twice.`,
        );
      const now = services.clock.now();
      setRecallSignOff(tx, request.recall, request.unit, actor.id, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "sign-off-recall-unit",
        subject: `recall:${request.recall}`,
        detail: { unit: request.unit, outcome: listed.outcome },
      });
      return { kind: "signed-off" } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "signed-off") services.live.changed("stores", `unit:${request.unit}`);
  return outcome;
}
