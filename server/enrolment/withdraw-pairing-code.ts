import { type CodeState, withdrawStep } from "../domain/enrolment/pairing-code-state.ts";
import type { LoanId, PairingCodeId, StaffId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { markPairingCodeWithdrawn, pairingCodeById } from "../store/pairing-codes.ts";

export interface WithdrawnPairingCode {
  readonly kind: "withdrawn";
  readonly loan: LoanId;
}

export type WithdrawRule = "unknown-code" | "already-spent" | "already-withdrawn" | "already-expired";

/** Makes a code unusable before anyone has used it: a lost slip, a changed mind. */
export function withdrawPairingCode(
  services: Services,
  actor: { readonly id: StaffId },
  code: PairingCodeId,
): WithdrawnPairingCode | Refused<WithdrawRule> {
  const outcome = services.db.transaction((tx) => withdrawWithin(tx, services, actor.id, code), {
    behavior: "immediate",
  });
  if (outcome.kind === "withdrawn") services.live.changed("stores", `loan:${outcome.loan}`);
  return outcome;
}

function withdrawWithin(
  db: Database,
  services: Services,
  by: StaffId,
  id: PairingCodeId,
): WithdrawnPairingCode | Refused<WithdrawRule> {
  const now = services.clock.now();
  const code = pairingCodeById(db, id);
  if (code?.joins.kind !== "loan") return refused("unknown-code", "There is no such pairing code.");
  const { loan, reference } = code.joins;
  const step = withdrawStep(code, now);
  if (step.kind === "too-late") return tooLate(step.state);
  markPairingCodeWithdrawn(db, id, now);
  appendAudit(db, {
    at: now,
    actor: { kind: "staff", id: by },
    action: "withdraw-pairing-code",
    subject: `loan:${loan}`,
    detail: { code: id, reference, unit: code.unitSerial },
  });
  return { kind: "withdrawn", loan };
}

function tooLate(state: Exclude<CodeState, "issued">): Refused<WithdrawRule> {
  switch (state) {
    case "spent":
      return refused(
        "already-spent",
        "The unit has already used this code. To shut the unit out, end the loan or issue a new code and pair it again.",
      );
    case "withdrawn":
      return refused("already-withdrawn", "This code has already been withdrawn.");
    case "expired":
      return refused("already-expired", "This code has expired: nobody can use it any more.");
  }
}
