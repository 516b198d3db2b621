import type { DueRelief } from "../domain/adherence/adherence.ts";
import { countReliefs, type ReliefCounts } from "../domain/adherence/bounds.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import { dueReliefFrom } from "../store/ledger-days.ts";
import type { HiddenTime } from "./clinic-hidden.ts";

export interface FairDue extends DueRelief {
  /** Why it is not told as missed, though none was seen; null: it is told as the ledger has it. */
  readonly hidden: HiddenTime | null;
}

/** A day's due reliefs, in which one that was due while the unit could not have seen every kind of it, and that was not
 *  seen, can't be told: it is never counted as missed. */
export const fairDue = (row: PersonLedgerDay, hidden: readonly HiddenTime[]): FairDue[] =>
  row.due.map(dueReliefFrom).map((one) => {
    const over =
      one.outcome === "missed"
        ? hidden.find(({ loan, start, end }) => loan === row.loanId && one.dueAt >= start && one.dueAt < end)
        : undefined;
    return over ? { dueAt: one.dueAt, outcome: "not-assessable", hidden: over } : { ...one, hidden: null };
  });

export const fairCounts = (row: PersonLedgerDay, hidden: readonly HiddenTime[]): ReliefCounts =>
  countReliefs(fairDue(row, hidden));
