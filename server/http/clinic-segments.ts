import { countReliefs } from "../domain/adherence/bounds.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { ShareDay } from "../domain/adherence/share-days.ts";
import type { LoanId } from "../domain/ids.ts";
import type { Settings } from "../domain/settings.ts";
import { daysBetween, localDay } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import { observedOf } from "./clinic-adherence.ts";
import { fairDue } from "./clinic-counts.ts";
import type { HiddenTime } from "./clinic-hidden.ts";

/** Days that one unit recorded under one plan: only within such are shares held against each other. */
export interface Segment {
  readonly loan: LoanId;
  readonly planVersion: number;
  readonly days: readonly ShareDay[];
}

const anyDay = localDay("2000-01-01");

/** @param ledger oldest first; a day on which the plan changed is in both segments, with what was due under each */
export function segmentsOf(
  ledger: readonly PersonLedgerDay[],
  hidden: readonly HiddenTime[],
  plans: readonly ReliefPlan[],
  settings: Settings,
): Segment[] {
  if (anyDay === null) throw new Error("a day has no number");
  const versionAt = (at: Instant): number => plans.findLast(({ validFrom }) => validFrom <= at)?.version ?? 0;
  const segments = new Map<string, Omit<Segment, "days"> & { readonly days: ShareDay[] }>();
  for (const row of ledger) {
    const { observed, onLoan } = observedOf(row);
    const isObserved = onLoan > 0 && observed / onLoan >= settings.dayCountsFromShare;
    const due = fairDue(row, hidden);
    for (const planVersion of new Set(due.map(({ dueAt }) => versionAt(dueAt)))) {
      const counts = countReliefs(due.filter(({ dueAt }) => versionAt(dueAt) === planVersion));
      const key = `${row.loanId} ${planVersion}`;
      const segment = segments.get(key) ?? { loan: row.loanId, planVersion, days: [] };
      segment.days.push({ x: daysBetween(anyDay, row.day), counts, observed: isObserved });
      segments.set(key, segment);
    }
  }
  return [...segments.values()];
}
