import { newId } from "../chance.ts";
import { type LoanId, type PairingCodeId, pairingCodeId, type StaffId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { loanById } from "../store/loans.ts";
import {
  addPairingCode,
  pairingCodeById,
  planToFollow,
  type StoredPairingCode,
  withdrawUnspentCodesOfLoan,
} from "../store/pairing-codes.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { settingsInForce } from "../store/settings.ts";
import type { Enrolment } from "./enrolment.ts";
import { type PairingCodeText, pairingCodeText } from "./pairing-code-text.ts";
import { pairingPurpose } from "./pairing-token.ts";
import { typedFormHash, typedFormOf } from "./typed-form.ts";

export interface IssuedPairingCode extends PairingCodeText {
  readonly kind: "issued";
  readonly id: PairingCodeId;
  readonly expiresAt: Instant;
}

export type IssueRule = "unknown-loan" | "loan-ended" | "recalled" | "no-relief-plan";

/** Issues a pairing code for an open loan and withdraws any earlier one of that loan that could still be used.
 *  Issuing again is how a lost or expired code is replaced. */
export async function issuePairingCode(
  services: Services,
  enrolment: Enrolment,
  actor: { readonly id: StaffId },
  loan: LoanId,
): Promise<IssuedPairingCode | Refused<IssueRule>> {
  const outcome = services.db.transaction((tx) => issueWithin(tx, services, enrolment, actor.id, loan), {
    behavior: "immediate",
  });
  if (outcome.kind === "refused") return outcome;
  services.live.changed("stores", `loan:${loan}`);
  const text = await pairingCodeText(enrolment, outcome.code);
  return { kind: "issued", id: outcome.code.id, expiresAt: outcome.code.expiresAt, ...text };
}

function issueWithin(
  db: Database,
  services: Services,
  enrolment: Enrolment,
  by: StaffId,
  id: LoanId,
): { readonly kind: "stored"; readonly code: StoredPairingCode } | Refused<IssueRule> {
  const now = services.clock.now();
  const loan = loanById(db, id);
  if (loan === null) return refused("unknown-loan", "There is no such loan.");
  if (loan.endedAt !== null) {
    return refused("loan-ended", `${loan.reference} has ended: its unit can't be paired for it any more.`);
  }
  const barredBy = recallsBarringIssue(db).get(loan.unitSerial) ?? [];
  if (barredBy.length > 0) {
    return refused(
      "recalled",
      `Recall ${barredBy.join(", ")} holds this unit back: no code is issued for it. Plan a swap.`,
    );
  }
  if (planToFollow(db, loan.borrowerId, now) === undefined) {
    return refused(
      "no-relief-plan",
      "No relief plan is in force, and a unit can't work without one. Ask the clinician to set it, then issue the code.",
    );
  }
  const replaced = withdrawUnspentCodesOfLoan(db, id, now);
  const codeId = pairingCodeId(newId(services.chance, "pc"));
  const expiresAt = expiryFrom(now, settingsInForce(db).pairingCodeHours);
  addPairingCode(db, {
    id: codeId,
    loanId: id,
    unitSerial: loan.unitSerial,
    purpose: pairingPurpose,
    issuedAt: now,
    expiresAt,
    issuedBy: by,
    typedHash: typedFormHash(typedFormOf(codeId, enrolment.typedKey)),
  });
  appendAudit(db, {
    at: now,
    actor: { kind: "staff", id: by },
    action: "issue-pairing-code",
    subject: `loan:${id}`,
    detail: { code: codeId, reference: loan.reference, unit: loan.unitSerial, expiresAt, replaced },
  });
  return { kind: "stored", code: storedCode(db, codeId) };
}

/** Whole seconds, as the code itself says it: paper and registry agree to the instant. */
function expiryFrom(now: Instant, lifetimeHours: number): Instant {
  return instant(now - (now % millisecondsIn.second) + lifetimeHours * millisecondsIn.hour);
}

function storedCode(db: Database, id: PairingCodeId): StoredPairingCode {
  const code = pairingCodeById(db, id);
  if (code === undefined) throw new Error(`pairing code ${id} was stored and is not there`);
  return code;
}
