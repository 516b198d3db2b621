import { newId } from "../chance.ts";
import { type LoanId, type StaffId, type UnitSerial, type VisitId, visitId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { reasonsAgainst, type UnsuitableRule } from "../domain/lifecycle/suitability.ts";
import { type LocalDay, localDayOf } from "../domain/time/local-day.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { borrowerById } from "../store/borrowers.ts";
import type { Database } from "../store/database.ts";
import { staffWorkingAs } from "../store/desk-staff.ts";
import { type LoanRow, loanById } from "../store/loans.ts";
import { setUnitPlace } from "../store/units.ts";
import { insertVisit, plannedVisitOfLoan } from "../store/visits.ts";
import { candidateUnit } from "./candidate-units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface PlanVisitRequest {
  readonly loan: LoanId;
  readonly task:
    | { readonly kind: "swap"; readonly replacement: UnitSerial }
    | { readonly kind: "collection" };
  readonly day: LocalDay;
  readonly doneBy: StaffId;
  readonly reason: string;
}

export interface VisitPlanned {
  readonly kind: "planned";
  readonly visit: VisitId;
}

export type PlanVisitRule =
  | "unknown-loan"
  | "loan-ended"
  | "already-planned"
  | "day-has-passed"
  | "nobody-to-do-it"
  | "unknown-unit"
  | UnsuitableRule;

/** Plans a swap or a collection. The replacement is reserved at once, so that it can't be promised twice. */
export function planVisit(
  services: Services,
  actor: StaffActor,
  request: PlanVisitRequest,
): VisitPlanned | Refused<PlanVisitRule> {
  const outcome = services.db.transaction((tx) => planVisitWithin(tx, services, actor, request), {
    behavior: "immediate",
  });
  if (outcome.kind === "planned") services.live.changed("stores", `loan:${request.loan}`);
  return outcome;
}

function planVisitWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  request: PlanVisitRequest,
): VisitPlanned | Refused<PlanVisitRule> {
  const now = services.clock.now();
  const loan = loanById(db, request.loan);
  if (loan === null) return refused("unknown-loan", "There is no such loan.");
  const refusal =
    reasonNotToVisit(db, loan, request, localDayOf(now, services.zone)) ??
    reasonAgainstUnit(db, loan, request);
  if (refusal !== null) return refusal;

  const id = visitId(newId(services.chance, "visit"));
  const replacement = request.task.kind === "swap" ? request.task.replacement : null;
  insertVisit(db, {
    id,
    kind: request.task.kind,
    loanId: loan.id,
    day: request.day,
    doneBy: request.doneBy,
    replacementSerial: replacement,
    reason: request.reason,
    status: "planned",
    createdAt: now,
    closedAt: null,
  });
  if (replacement !== null) setUnitPlace(db, replacement, "reserved", now);
  appendAudit(db, {
    at: now,
    actor,
    action: "plan-visit",
    subject: `visit:${id}`,
    detail: { loan: loan.reference, task: request.task.kind, day: request.day, replacement },
  });
  return { kind: "planned", visit: id };
}

function reasonNotToVisit(
  db: Database,
  loan: LoanRow,
  request: PlanVisitRequest,
  today: LocalDay,
): Refused<PlanVisitRule> | null {
  if (loan.endedAt !== null) return refused("loan-ended", `${loan.reference} has already ended.`);
  const planned = plannedVisitOfLoan(db, loan.id);
  if (planned !== null)
    return refused(
      "already-planned",
      `A ${planned.kind} is planned for this loan already. Nothing was done twice.`,
    );
  if (request.day < today) return refused("day-has-passed", "That day has passed already.");
  const canVisit = staffWorkingAs(db, ["coordinator", "technician"]);
  if (!canVisit.some((person) => person.id === request.doneBy))
    return refused("nobody-to-do-it", "Choose someone of Stores or the Bench who can go.");
  return null;
}

function reasonAgainstUnit(
  db: Database,
  loan: LoanRow,
  request: PlanVisitRequest,
): Refused<PlanVisitRule> | null {
  if (request.task.kind === "collection") return null;
  const borrower = borrowerById(db, loan.borrowerId);
  const unit = candidateUnit(db, request.task.replacement);
  if (borrower === null || unit === null)
    return refused("unknown-unit", `There is no unit ${request.task.replacement}.`);
  const against = reasonsAgainst(unit, borrower);
  const first = against[0];
  return first === undefined ? null : refused(first.rule, against.map((reason) => reason.sentence).join(" "));
}
