import type { ReliefCounts } from "../domain/adherence/bounds.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import type { HiddenTime } from "./clinic-hidden.ts";

/** A day's counts in which a relief that was due while the unit could not have seen every kind of it, and that was not
 *  seen, can't be told: it is never counted as missed. */
export function fairCounts(row: PersonLedgerDay, hidden: readonly HiddenTime[]): ReliefCounts {
  const unseeable = row.due.filter(
    ([at, outcome]) =>
      outcome === "missed" &&
      hidden.some(({ loan, start, end }) => loan === row.loanId && at >= start && at < end),
  ).length;
  return { met: row.met, missed: row.missed - unseeable, notAssessable: row.notAssessable + unseeable };
}

export const addCounts = (counts: readonly ReliefCounts[]): ReliefCounts =>
  counts.reduce(
    (sum, { met, missed, notAssessable }) => ({
      met: sum.met + met,
      missed: sum.missed + missed,
      notAssessable: sum.notAssessable + notAssessable,
    }),
    { met: 0, missed: 0, notAssessable: 0 },
  );
