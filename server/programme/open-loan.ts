import { newId } from "../chance.ts";
import { type BorrowerId, type LoanId, loanId, type UnitSerial, type VisitId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import {
  nearestSuitable,
  reasonsAgainst,
  type Unsuitable,
  type UnsuitableRule,
} from "../domain/lifecycle/suitability.ts";
import { type LocalDay, localDayOf } from "../domain/time/local-day.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { type BorrowerWithClinician, borrowerById, hasReliefPlan } from "../store/borrowers.ts";
import type { Database } from "../store/database.ts";
import { insertLoan } from "../store/loans.ts";
import { nextLoanReference } from "../store/references.ts";
import { setUnitPlace } from "../store/units.ts";
import { candidateUnit, unitsToIssue } from "./candidate-units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface OpenLoanRequest {
  readonly unit: UnitSerial;
  readonly borrower: BorrowerId;
  readonly dueBackOn: LocalDay | null;
}

export interface LoanOpened {
  readonly kind: "opened";
  readonly loan: LoanId;
  readonly reference: string;
}

export type OpenLoanRule =
  | "unknown-unit"
  | "unknown-borrower"
  | "no-relief-plan"
  | "borrower-has-a-loan"
  | "due-back-in-the-past"
  | UnsuitableRule;

/** Every gate that refused, and the unit in stock that would pass them all. */
export interface LoanRefused extends Refused<OpenLoanRule> {
  readonly reasons: readonly { readonly rule: OpenLoanRule; readonly sentence: string }[];
  readonly nearest: UnitSerial | null;
}

/** Lends a unit to a borrower, or says which gates refuse and what would fit instead. */
export function openLoan(
  services: Services,
  actor: StaffActor,
  request: OpenLoanRequest,
): LoanOpened | LoanRefused {
  const outcome = services.db.transaction(
    (tx) => openLoanWithin(tx, services, actor, request, { follows: null, forVisit: null }),
    { behavior: "immediate" },
  );
  if (outcome.kind === "opened") {
    services.live.changed("stores", `loan:${outcome.loan}`, `unit:${request.unit}`);
  }
  return outcome;
}

/** The same, inside a transaction that does more: a swap has just ended the loan that this one follows. */
export function openLoanWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  request: OpenLoanRequest,
  context: { readonly follows: LoanId | null; readonly forVisit: VisitId | null },
): LoanOpened | LoanRefused {
  const now = services.clock.now();
  const borrower = borrowerById(db, request.borrower);
  if (borrower === null) return one(refused("unknown-borrower", "There is no such borrower."));
  const today = localDayOf(now, services.zone);
  const gates = personGates(db, borrower, request, context.follows === null ? today : null);
  if (gates.length > 0) return together(gates, null);

  const unit = candidateUnit(db, request.unit, context.forVisit);
  if (unit === null) return one(refused("unknown-unit", `There is no unit ${request.unit}.`));
  const against = reasonsAgainst(unit, borrower);
  if (against.length > 0) {
    const nearest = nearestSuitable(unitsToIssue(db, context.forVisit), borrower);
    return together(against, nearest?.serial ?? null);
  }

  const id = loanId(newId(services.chance, "loan"));
  const reference = nextLoanReference(db);
  insertLoan(db, {
    id,
    reference,
    unitSerial: request.unit,
    borrowerId: request.borrower,
    openedAt: now,
    startedAt: null,
    dueBackOn: request.dueBackOn,
    endedAt: null,
    endReason: null,
    followsLoanId: context.follows,
  });
  setUnitPlace(db, request.unit, "on-loan", now);
  appendAudit(db, {
    at: now,
    actor,
    action: "open-loan",
    subject: `loan:${id}`,
    detail: { reference, unit: request.unit, dueBackOn: request.dueBackOn, follows: context.follows },
  });
  return { kind: "opened", loan: id, reference };
}

function personGates(
  db: Database,
  borrower: BorrowerWithClinician,
  request: OpenLoanRequest,
  /** null: the date was agreed with an earlier loan and is carried over, passed or not. */
  notBefore: LocalDay | null,
): Refused<OpenLoanRule>[] {
  const gates: Refused<OpenLoanRule>[] = [];
  if (borrower.openLoanReference !== null)
    gates.push(
      refused(
        "borrower-has-a-loan",
        `This borrower already has an open loan, ${borrower.openLoanReference}. To change the unit, plan a swap.`,
      ),
    );
  if (!hasReliefPlan(db, request.borrower))
    gates.push(
      refused(
        "no-relief-plan",
        `No relief plan has been set. ${borrower.clinicianName} sets it; it is never filled in by default.`,
      ),
    );
  if (request.dueBackOn !== null && notBefore !== null && request.dueBackOn < notBefore)
    gates.push(refused("due-back-in-the-past", "The day it is due back has passed already."));
  return gates;
}

const one = (refusal: Refused<OpenLoanRule>): LoanRefused => together([refusal], null);

function together(
  reasons: readonly (Refused<OpenLoanRule> | Unsuitable)[],
  nearest: UnitSerial | null,
): LoanRefused {
  const first = reasons[0];
  if (first === undefined) throw new Error("A refusal needs a reason.");
  return {
    kind: "refused",
    rule: first.rule,
    sentence: reasons.map((reason) => reason.sentence).join(" "),
    reasons: reasons.map(({ rule, sentence }) => ({ rule, sentence })),
    nearest,
  };
}
