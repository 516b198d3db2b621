import type { LoanId, UnitSerial, VisitId } from "../domain/ids.ts";
import type { Refused } from "../domain/lifecycle/refusal.ts";
import { refused } from "../domain/lifecycle/refusal.ts";
import { reasonsAgainst } from "../domain/lifecycle/suitability.ts";
import type { Services } from "../services.ts";
import { borrowerById } from "../store/borrowers.ts";
import type { Database } from "../store/database.ts";
import { type LoanRow, loanById } from "../store/loans.ts";
import { plannedVisitOfLoan } from "../store/visits.ts";
import { candidateUnit } from "./candidate-units.ts";
import { type EndLoanRule, endLoanWithin, tellThatLoanEnded } from "./end-loan.ts";
import { type LoanOpened, type OpenLoanRule, openLoanWithin } from "./open-loan.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface SwapRequest {
  readonly loan: LoanId;
  readonly replacement: UnitSerial;
  readonly reason: string;
  /** The old unit travels back sealed, or is already in quarantine. */
  readonly unitTo: "coming-back" | "quarantine";
}

export interface UnitSwapped {
  readonly kind: "swapped";
  readonly ended: LoanRow;
  readonly opened: LoanOpened;
}

export type SwapRule = EndLoanRule | OpenLoanRule | "visit-planned";

/** Ends one loan and opens the next for the same borrower, at the same instant: the record shows the seam, and the
 *  person is never without a surface. */
export function swapUnit(
  services: Services,
  actor: StaffActor,
  request: SwapRequest,
): UnitSwapped | Refused<SwapRule> {
  const outcome = services.db.transaction(
    (tx): UnitSwapped | Refused<SwapRule> => {
      if (plannedVisitOfLoan(tx, request.loan) !== null)
        return refused("visit-planned", "A visit is planned for this loan: complete or cancel it first.");
      return swapUnitWithin(tx, services, actor, request, null);
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "swapped") tellThatUnitWasSwapped(services, outcome, request.replacement);
  return outcome;
}

export function swapUnitWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  request: SwapRequest,
  forVisit: VisitId | null,
): UnitSwapped | Refused<SwapRule> {
  const old = loanById(db, request.loan);
  if (old === null) return refused("unknown-loan", "There is no such loan.");
  // The replacement is checked before the old loan ends: a refusal must leave everything as it was.
  const unfit = reasonAgainstReplacement(db, old, request.replacement, forVisit);
  if (old.endedAt === null && unfit !== null) return unfit;

  const ended = endLoanWithin(db, services, actor, {
    loan: request.loan,
    reason: request.reason,
    surface: "equivalent-in-place",
    unitTo: request.unitTo,
  });
  if (ended.kind === "refused") return ended;
  const opened = openLoanWithin(
    db,
    services,
    actor,
    { unit: request.replacement, borrower: old.borrowerId, dueBackOn: old.dueBackOn },
    { follows: old.id, forVisit },
  );
  // The only gate left is the relief plan. Throwing undoes the ended loan with the rest of the transaction.
  if (opened.kind === "refused") throw new Error(`A swap stopped half way: ${opened.sentence}`);
  return { kind: "swapped", ended: ended.loan, opened };
}

export function tellThatUnitWasSwapped(
  services: Services,
  swapped: UnitSwapped,
  replacement: UnitSerial,
): void {
  tellThatLoanEnded(services, swapped.ended);
  services.live.changed("stores", `loan:${swapped.opened.loan}`, `unit:${replacement}`);
}

function reasonAgainstReplacement(
  db: Database,
  old: LoanRow,
  replacement: UnitSerial,
  forVisit: VisitId | null,
): Refused<OpenLoanRule> | null {
  const borrower = borrowerById(db, old.borrowerId);
  const unit = candidateUnit(db, replacement, forVisit);
  if (borrower === null || unit === null) return refused("unknown-unit", `There is no unit ${replacement}.`);
  const against = reasonsAgainst(unit, borrower);
  const first = against[0];
  return first === undefined ? null : refused(first.rule, against.map((reason) => reason.sentence).join(" "));
}
