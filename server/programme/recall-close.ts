import type { RecallId } from "../domain/ids.ts";
import { balanceRecall, reasonNotToClose } from "../domain/lifecycle/recall-balance.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { markRecallClosed, recallById, unitsMatchingUnlisted, unitsOfRecall } from "../store/recalls.ts";
import type { StaffActor } from "./staff-actor.ts";

export type CloseRecallRule =
  | "unknown-recall"
  | "already-closed"
  | "unlisted-units"
  | "outstanding-units"
  | "sign-off-missing";

/** Closes a recall whose count balances with nothing outstanding. */
export function closeRecall(
  services: Services,
  actor: StaffActor,
  id: RecallId,
): { readonly kind: "closed" } | Refused<CloseRecallRule> {
  const outcome = services.db.transaction(
    (tx): { readonly kind: "closed" } | Refused<CloseRecallRule> => {
      const recall = recallById(tx, id);
      if (recall === null) return refused("unknown-recall", "There is no such recall.");
      if (recall.closedAt !== null)
        return refused("already-closed", `${recall.reference} is closed already. Nothing was done twice.`);
      const lines = unitsOfRecall(tx, id).map((unit) => ({
        outcome: unit.outcome,
        signedOff: unit.signedOffBy !== null,
      }));
      const balance = balanceRecall(lines);
      const refusal = reasonNotToClose(balance, unitsMatchingUnlisted(tx, id).length);
      if (refusal !== null) return refusal;
      const now = services.clock.now();
      markRecallClosed(tx, id, now, actor.id);
      appendAudit(tx, {
        at: now,
        actor,
        action: "close-recall",
        subject: `recall:${id}`,
        detail: { reference: recall.reference, affected: balance.affected, counts: balance.counts },
      });
      return { kind: "closed" };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "closed") services.live.changed("stores", "bench");
  return outcome;
}
