import type { RecallId, UnitSerial } from "../domain/ids.ts";
import {
  placeContradicts,
  type RecallOutcome,
  recallOutcomeWords,
} from "../domain/lifecycle/recall-balance.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { recallById, recallUnitOf, setRecallOutcome } from "../store/recalls.ts";
import { unitBySerial } from "../store/units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface RecallOutcomeRequest {
  readonly recall: RecallId;
  readonly unit: UnitSerial;
  readonly outcome: RecallOutcome;
  /** What shows that it happened: who saw it, which paper. Needed for every outcome but outstanding. */
  readonly evidence: string;
}

export type RecallOutcomeRule =
  | "not-on-the-list"
  | "recall-closed"
  | "already-recorded"
  | "evidence-missing"
  | "place-contradicts";

/** Records what has become of one unit of a recall. That somebody was told is not an outcome. */
export function recordRecallOutcome(
  services: Services,
  actor: StaffActor,
  request: RecallOutcomeRequest,
): { readonly kind: "recorded" } | Refused<RecallOutcomeRule> {
  const outcome = services.db.transaction(
    (tx) => {
      const refusal = reasonNotToRecord(tx, request);
      if (refusal !== null) return refusal;
      const now = services.clock.now();
      setRecallOutcome(tx, request.recall, request.unit, {
        outcome: request.outcome,
        note: request.evidence.trim(),
        changedAt: now,
      });
      appendAudit(tx, {
        at: now,
        actor,
        action: "record-recall-outcome",
        subject: `recall:${request.recall}`,
        detail: { unit: request.unit, outcome: request.outcome },
      });
      return { kind: "recorded" } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "recorded") services.live.changed("stores", `unit:${request.unit}`);
  return outcome;
}

function reasonNotToRecord(db: Database, request: RecallOutcomeRequest): Refused<RecallOutcomeRule> | null {
  const recall = recallById(db, request.recall);
  const listed = recallUnitOf(db, request.recall, request.unit);
  const unit = unitBySerial(db, request.unit);
  if (recall === null || listed === null || unit === null)
    return refused("not-on-the-list", `${request.unit} is not on this recall’s list.`);
  // After closing, a unit that was held can still be put right or scrapped; nothing can become outstanding again.
  const finishing = request.outcome === "corrected-in-place" || request.outcome === "scrapped-with-evidence";
  if (recall.closedAt !== null && !finishing)
    return refused(
      "recall-closed",
      `${recall.reference} is closed: only a correction or scrapping can follow.`,
    );
  if (listed.outcome === request.outcome && listed.note === request.evidence.trim())
    return refused(
      "already-recorded",
      `${request.unit} is recorded as ${recallOutcomeWords[request.outcome]} already. Nothing was done twice.`,
    );
  if (request.outcome !== "outstanding" && request.evidence.trim() === "")
    return refused("evidence-missing", "Say what shows that it was done: who saw it, or which paper.");
  const contradiction = placeContradicts(request.outcome, unit.place);
  return contradiction === null ? null : refused("place-contradicts", contradiction);
}
