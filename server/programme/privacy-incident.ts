import { newId } from "../chance.ts";
import { type IdentityQuestionId, privacyIncidentId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { type IdentityQuestionRow, identityQuestionFor } from "../store/identity.ts";
import { insertPrivacyIncident, privacyIncidentOf, savePrivacyOutcome } from "../store/privacy-incidents.ts";
import type { StaffActor } from "./staff-actor.ts";

/** Two people's records stood under each other's names. Of one mix-up there is one, whichever of two clinicians confirms
 *  first. Call it in the transaction of the answer. */
export function openPrivacyIncident(
  services: Services,
  tx: Database,
  actor: StaffActor,
  question: IdentityQuestionRow,
): void {
  if (privacyIncidentOf(tx, question.id) !== null) return;
  const at = services.clock.now();
  const id = privacyIncidentId(newId(services.chance, "privacy"));
  insertPrivacyIncident(tx, {
    id,
    questionId: question.id,
    loanId: question.loanId,
    otherLoanId: question.otherLoanId,
    openedBy: actor.id,
    openedAt: at,
    outcome: null,
    closedBy: null,
    closedAt: null,
  });
  appendAudit(tx, {
    at,
    actor,
    action: "open-privacy-incident",
    subject: `loan:${question.loanId}`,
    detail: { incident: id, question: question.id },
  });
}

/** Whoever answers for one of the two people says who was told and what was decided. */
export function closePrivacyIncident(
  services: Services,
  actor: StaffActor,
  given: { readonly question: IdentityQuestionId; readonly outcome: string },
): { readonly kind: "closed" } | Refused<"unknown-question" | "nothing-open" | "say-who-was-told"> {
  const outcome = services.db.transaction(
    (tx) => {
      const asked = identityQuestionFor(tx, actor.id, given.question);
      if (!asked)
        return refused("unknown-question", "There is no such question about a person on your list.");
      const incident = privacyIncidentOf(tx, given.question);
      if (incident === null || incident.closedAt !== null)
        return refused("nothing-open", "No privacy incident is open here: a colleague may have closed it.");
      if (given.outcome.trim() === "")
        return refused("say-who-was-told", "Say who was told, and what was decided.");
      const at = services.clock.now();
      savePrivacyOutcome(tx, incident.id, {
        outcome: given.outcome.trim(),
        closedBy: actor.id,
        closedAt: at,
      });
      appendAudit(tx, {
        at,
        actor,
        action: "close-privacy-incident",
        subject: `loan:${asked.question.loanId}`,
        detail: { incident: incident.id },
      });
      return { kind: "closed" } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "closed") services.live.changed("clinic");
  return outcome;
}
