import type { BorrowerId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { type BorrowerChange, borrowerById, updateBorrower } from "../store/borrowers.ts";
import { staffNamed } from "../store/desk-staff.ts";
import type { StaffActor } from "./staff-actor.ts";

type ChangeBorrowerRule = "unknown-borrower" | "not-a-clinician";

export interface BorrowerChanged {
  readonly kind: "changed";
  /** Names of the fields that differ; their content stays out of the audit. */
  readonly fields: readonly string[];
}

/** Changes contact data, weight, seat or clinician. */
export function changeBorrower(
  services: Services,
  actor: StaffActor,
  id: BorrowerId,
  change: BorrowerChange,
): BorrowerChanged | Refused<ChangeBorrowerRule> {
  const outcome = services.db.transaction(
    (tx): BorrowerChanged | Refused<ChangeBorrowerRule> => {
      const before = borrowerById(tx, id);
      if (before === null) return refused("unknown-borrower", "There is no such borrower.");
      if (staffNamed(tx, change.clinicianId)?.role !== "clinician")
        return refused("not-a-clinician", "Choose a clinician: someone has to set the relief plan.");
      const fields = fieldsThatDiffer(before, change);
      if (fields.length === 0) return { kind: "changed", fields };
      updateBorrower(tx, id, change);
      appendAudit(tx, {
        at: services.clock.now(),
        actor,
        action: "change-borrower",
        subject: `borrower:${id}`,
        detail: { fields },
      });
      return { kind: "changed", fields };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "changed") services.live.changed("stores", "clinic", `person:${id}`);
  return outcome;
}

function fieldsThatDiffer(before: BorrowerChange, after: BorrowerChange): readonly string[] {
  const names = [
    "name",
    "area",
    "address",
    "phone",
    "weight",
    "seatWidth",
    "seatDepth",
    "clinicianId",
  ] as const satisfies readonly (keyof BorrowerChange)[];
  return names.filter((name) => before[name] !== after[name]);
}
