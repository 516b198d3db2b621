import type { Plan } from "../../firmware-protocol/src/downlink.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { LiveTopic } from "../live.ts";
import type { Database } from "../store/database.ts";
import { openLoanOfUnit } from "../store/loans.ts";
import { planToFollow } from "../store/pairing-codes.ts";

/** What a unit shall remind of now, and the topics that tell when that may change. */
export interface PlanInForce {
  readonly plan: Plan | null;
  readonly changesWith: readonly LiveTopic[];
}

/** The plan of the person whose loan the unit is on; none while it is on no loan. */
export function planInForce(db: Database, unit: UnitSerial, now: Instant): PlanInForce {
  const loan = openLoanOfUnit(db, unit);
  if (loan === null) return { plan: null, changesWith: [] };
  const changesWith: LiveTopic[] = [`loan:${loan.id}`, `person:${loan.borrowerId}`];
  const plan = planToFollow(db, loan.borrowerId, now);
  if (plan === undefined) return { plan: null, changesWith };
  const { version, interval, hold, kinds } = plan;
  return {
    plan: { kind: "plan", version, intervalMinutes: interval, holdSeconds: hold, kinds },
    changesWith,
  };
}
