import { newId } from "../chance.ts";
import { type BorrowerId, borrowerId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { type BorrowerChange, insertBorrower } from "../store/borrowers.ts";
import { staffNamed } from "../store/desk-staff.ts";
import type { StaffActor } from "./staff-actor.ts";

export type AddBorrowerRequest = BorrowerChange;

export interface BorrowerAdded {
  readonly kind: "added";
  readonly borrower: BorrowerId;
}

/** Adds a person whom the programme may lend to, under a clinician who answers for the relief plan. */
export function addBorrower(
  services: Services,
  actor: StaffActor,
  request: AddBorrowerRequest,
): BorrowerAdded | Refused<"not-a-clinician"> {
  const outcome = services.db.transaction(
    (tx): BorrowerAdded | Refused<"not-a-clinician"> => {
      if (staffNamed(tx, request.clinicianId)?.role !== "clinician")
        return refused("not-a-clinician", "Choose a clinician: someone has to set the relief plan.");
      const now = services.clock.now();
      const id = borrowerId(newId(services.chance, "borrower"));
      insertBorrower(tx, { ...request, id, createdAt: now });
      appendAudit(tx, {
        at: now,
        actor,
        action: "add-borrower",
        subject: `borrower:${id}`,
        detail: { clinician: request.clinicianId },
      });
      return { kind: "added", borrower: id };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "added") services.live.changed("stores", "clinic", `person:${outcome.borrower}`);
  return outcome;
}
