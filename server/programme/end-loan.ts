import type { LoanId } from "../domain/ids.ts";
import type { PlaceAfterLoan } from "../domain/lifecycle/moves.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { revokeCertificatesOfLoan } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { type LoanRow, loanById, loanFollowing, markLoanEnded } from "../store/loans.ts";
import { withdrawUnspentCodesOfLoan } from "../store/pairing-codes.ts";
import { setUnitPlace } from "../store/units.ts";
import { closeVisit, plannedVisitOfLoan } from "../store/visits.ts";
import { releaseReservation } from "./release-reservation.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface EndLoanRequest {
  readonly loan: LoanId;
  readonly reason: string;
  /** What the person sits on from now on. A cushion is never taken away without an answer to this. */
  readonly surface: "equivalent-in-place" | "not-needed";
  /** Where the unit is now. */
  readonly unitTo: PlaceAfterLoan;
  /** When the loan ended; left out: now. */
  readonly at?: Instant;
}

export interface LoanEnded {
  readonly kind: "ended";
  readonly loan: LoanRow;
}

export type EndLoanRule = "unknown-loan" | "already-ended" | "in-the-future" | "before-it-began";

/** Ends a loan: from here on the unit's certificate opens nothing, and its data are nobody's until the next loan. */
export function endLoan(
  services: Services,
  actor: StaffActor,
  request: EndLoanRequest,
): LoanEnded | Refused<EndLoanRule> {
  const outcome = services.db.transaction(
    (tx) => {
      const ended = endLoanWithin(tx, services, actor, request);
      if (ended.kind === "ended") cancelPlannedVisit(tx, services, request.loan);
      return ended;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "ended") tellThatLoanEnded(services, outcome.loan);
  return outcome;
}

export function endLoanWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  request: EndLoanRequest,
): LoanEnded | Refused<EndLoanRule> {
  const now = services.clock.now();
  const at = request.at ?? now;
  const loan = loanById(db, request.loan);
  if (loan === null) return refused("unknown-loan", "There is no such loan.");
  if (loan.endedAt !== null) return refused("already-ended", alreadyEnded(db, loan));
  if (at > now) return refused("in-the-future", "A loan can’t have ended at a time still to come.");
  if (at < (loan.startedAt ?? loan.openedAt))
    return refused("before-it-began", "That is before the loan began.");

  markLoanEnded(db, loan.id, at, request.reason);
  revokeCertificatesOfLoan(db, loan.id, now, "loan-ended");
  withdrawUnspentCodesOfLoan(db, loan.id, now);
  setUnitPlace(db, loan.unitSerial, request.unitTo, now);
  appendAudit(db, {
    at: now,
    actor,
    action: "end-loan",
    subject: `loan:${loan.id}`,
    detail: {
      reference: loan.reference,
      unit: loan.unitSerial,
      endedAt: at,
      surface: request.surface,
      unitTo: request.unitTo,
    },
  });
  return { kind: "ended", loan: { ...loan, endedAt: at, endReason: request.reason } };
}

/** What open pages and the broker need to hear once the change is committed. */
export function tellThatLoanEnded(services: Services, loan: LoanRow): void {
  services.live.changed("certificates", "stores", `loan:${loan.id}`, `unit:${loan.unitSerial}`);
}

function alreadyEnded(db: Database, loan: LoanRow): string {
  const next = loanFollowing(db, loan.id);
  const swapped = next === null ? "" : ` ${next.reference} followed it.`;
  return `${loan.reference} has already ended.${swapped} Nothing was done twice.`;
}

function cancelPlannedVisit(db: Database, services: Services, loan: LoanId): void {
  const visit = plannedVisitOfLoan(db, loan);
  if (visit === null) return;
  const now = services.clock.now();
  closeVisit(db, visit.id, "cancelled", now);
  releaseReservation(db, visit.replacementSerial, now);
}
