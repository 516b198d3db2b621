import type { VisitId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import type { LoanRow } from "../store/loans.ts";
import { closeVisit, type VisitInFull, visitById } from "../store/visits.ts";
import { type EndLoanRequest, endLoanWithin, tellThatLoanEnded } from "./end-loan.ts";
import type { LoanOpened } from "./open-loan.ts";
import type { StaffActor } from "./staff-actor.ts";
import { type SwapRule, swapUnitWithin, tellThatUnitWasSwapped } from "./swap-unit.ts";

export interface CompleteVisitRequest {
  readonly visit: VisitId;
  /** For a collection: what the person sits on now. A swap answers that itself. */
  readonly surface: EndLoanRequest["surface"];
  readonly unitTo: "coming-back" | "quarantine";
}

export interface VisitCompleted {
  readonly kind: "completed";
  readonly ended: LoanRow;
  /** The loan that a swap opened: its unit still has to enrol. */
  readonly opened: LoanOpened | null;
}

export type CompleteVisitRule = SwapRule | "unknown-visit" | "visit-closed";

/** A visit that was done changes the loan in the same breath: a collection ends it, a swap ends it and opens the next. */
export function completeVisit(
  services: Services,
  actor: StaffActor,
  request: CompleteVisitRequest,
): VisitCompleted | Refused<CompleteVisitRule> {
  const visit = visitById(services.db, request.visit);
  const outcome = services.db.transaction(
    (tx): VisitCompleted | Refused<CompleteVisitRule> => {
      const current = visitById(tx, request.visit);
      if (current === null) return refused("unknown-visit", "There is no such visit.");
      if (current.status !== "planned") return refused("visit-closed", visitClosed(current));
      const done = doTask(tx, services, actor, current, request);
      if (done.kind === "refused") return done;
      const now = services.clock.now();
      closeVisit(tx, current.id, "done", now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "complete-visit",
        subject: `visit:${current.id}`,
        detail: { loan: current.loanReference, task: current.kind },
      });
      return done;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "completed") tell(services, outcome, visit);
  return outcome;
}

function doTask(
  db: Database,
  services: Services,
  actor: StaffActor,
  visit: VisitInFull,
  request: CompleteVisitRequest,
): VisitCompleted | Refused<CompleteVisitRule> {
  const { loanId: loan, reason } = visit;
  if (visit.kind === "swap" && visit.replacementSerial !== null) {
    const swap = { loan, reason, replacement: visit.replacementSerial, unitTo: request.unitTo };
    const swapped = swapUnitWithin(db, services, actor, swap, visit.id);
    return swapped.kind === "refused"
      ? swapped
      : { kind: "completed", ended: swapped.ended, opened: swapped.opened };
  }
  const { surface, unitTo } = request;
  const ended = endLoanWithin(db, services, actor, { loan, reason, surface, unitTo });
  return ended.kind === "refused" ? ended : { kind: "completed", ended: ended.loan, opened: null };
}

function tell(services: Services, completed: VisitCompleted, visit: VisitInFull | null): void {
  const replacement = visit?.replacementSerial ?? null;
  if (completed.opened !== null && replacement !== null) {
    const swapped = { kind: "swapped", ended: completed.ended, opened: completed.opened } as const;
    tellThatUnitWasSwapped(services, swapped, replacement);
  } else tellThatLoanEnded(services, completed.ended);
}

function visitClosed(visit: VisitInFull): string {
  const words = {
    planned: "planned",
    done: "done",
    cancelled: "cancelled",
    "no-access": "closed without access",
  };
  return `This visit was ${words[visit.status]} already. Nothing was done twice.`;
}
