import type { RecallId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { listUnitsInRecall, recallById, unitsMatchingUnlisted } from "../store/recalls.ts";
import type { StaffActor } from "./staff-actor.ts";

/** Puts on the list those units that have come to match since: a firmware reported late, say. */
export function listMoreUnits(
  services: Services,
  actor: StaffActor,
  id: RecallId,
):
  | { readonly kind: "listed"; readonly units: number }
  | Refused<"unknown-recall" | "recall-closed" | "none-new"> {
  const outcome = services.db.transaction(
    (tx) => {
      const recall = recallById(tx, id);
      if (recall === null) return refused("unknown-recall", "There is no such recall.");
      if (recall.closedAt !== null) return refused("recall-closed", `${recall.reference} is closed already.`);
      const serials = unitsMatchingUnlisted(tx, id);
      if (serials.length === 0) return refused("none-new", "Every unit that matches is on the list already.");
      const now = services.clock.now();
      listUnitsInRecall(tx, id, serials, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "list-more-recall-units",
        subject: `recall:${id}`,
        detail: { units: serials },
      });
      return { kind: "listed", units: serials.length } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "listed") services.live.changed("stores");
  return outcome;
}
