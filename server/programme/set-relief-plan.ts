import { newId } from "../chance.ts";
import { type BorrowerId, planId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { ReliefKind } from "../domain/record/unit-record.ts";
import { dayBounds, type LocalDay, localDayOf } from "../domain/time/local-day.ts";
import type { Instant, Minutes, Seconds } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { borrowerOfClinician } from "../store/clinic-people.ts";
import { openLoanOfBorrower } from "../store/loans.ts";
import { insertReliefPlan, plansWithSetterOf } from "../store/relief-plans.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface SetReliefPlanRequest {
  readonly borrower: BorrowerId;
  /** The day it comes into force: today (then from this moment) or later. */
  readonly from: LocalDay;
  readonly interval: Minutes;
  readonly hold: Seconds;
  readonly kinds: readonly ReliefKind[];
}

type SetReliefPlanRule = "not-your-person" | "in-the-past" | "before-the-last-version" | "no-kinds";

/** Adds a version of a person's relief plan. Versions are never changed: what was due in the past stays judged by the
 *  plan that was in force then. Nothing is filled in that the clinician didn't ask for. */
export function setReliefPlan(
  services: Services,
  actor: StaffActor,
  request: SetReliefPlanRequest,
): { readonly kind: "set"; readonly version: number } | Refused<SetReliefPlanRule> {
  const outcome = services.db.transaction(
    (tx) => {
      if (!borrowerOfClinician(tx, actor.id, request.borrower))
        return refused("not-your-person", "This person is not on your list.");
      const now = services.clock.now();
      const validFrom = comesIntoForce(request.from, now, services);
      if (validFrom === null)
        return refused(
          "in-the-past",
          "A plan can start today or later: what is past stays judged by the plan it had.",
        );
      if (request.kinds.length === 0) return refused("no-kinds", "Choose at least one kind of relief.");
      const last = plansWithSetterOf(tx, request.borrower)[0];
      if (last && validFrom < last.validFrom)
        return refused(
          "before-the-last-version",
          "A version is already set for a later day; choose that day or a later one.",
        );
      const version = (last?.version ?? 0) + 1;
      const { interval, hold, kinds, borrower } = request;
      insertReliefPlan(tx, {
        id: planId(newId(services.chance, "plan")),
        borrowerId: borrower,
        version,
        validFrom,
        interval,
        hold,
        kinds,
        setBy: actor.id,
      });
      appendAudit(tx, {
        at: now,
        actor,
        action: "set-relief-plan",
        subject: `person:${borrower}`,
        detail: { version, validFrom, intervalMinutes: interval, holdSeconds: hold, kinds },
      });
      return { kind: "set", version, loan: openLoanOfBorrower(tx, borrower) } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("clinic", `person:${request.borrower}`);
  // The unit is told its new plan by whoever follows its loan.
  if (outcome.loan) services.live.changed(`loan:${outcome.loan.id}`, `unit:${outcome.loan.unitSerial}`);
  return { kind: "set", version: outcome.version };
}

function comesIntoForce(from: LocalDay, now: Instant, services: Services): Instant | null {
  const today = localDayOf(now, services.zone);
  if (from < today) return null;
  return from === today ? now : dayBounds(from, services.zone).start;
}
