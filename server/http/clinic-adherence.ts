import type { AdherenceShown } from "../../views/clinic/adherence-part.tsx";
import { addCounts, boundsOf } from "../domain/adherence/bounds.ts";
import { ownRhythmRange, type RhythmDay } from "../domain/adherence/own-rhythm.ts";
import { scenarios } from "../domain/adherence/scenarios.ts";
import { observedStates } from "../domain/ledger/minute-state.ts";
import { notedAway } from "../domain/lifecycle/noted-away.ts";
import type { Settings } from "../domain/settings.ts";
import { isWeekend } from "../domain/time/local-day.ts";
import type { JudgedStretch, PersonLedgerDay } from "../store/clinic-stretches.ts";
import type { LoanNoteRow } from "../store/loan-notes.ts";
import { fairCounts } from "./clinic-counts.ts";
import type { HiddenTime } from "./clinic-hidden.ts";
import { inGapsNobodySat } from "./clinic-nobody-sat.ts";
import { runsOfRow } from "./clinic-runs.ts";

type Note = Pick<LoanNoteRow, "loanId" | "kind" | "fromAt" | "untilAt">;

/** Adherence over the days shown, with what was not seen kept apart.
 *  @param notes of the person's loans */
export function adherenceShown(
  ledger: readonly PersonLedgerDay[],
  hidden: readonly HiddenTime[],
  settings: Settings,
  stretches: readonly JudgedStretch[],
  notes: readonly Note[],
): AdherenceShown {
  const counts = addCounts(ledger.map((row) => fairCounts(row, hidden)));
  const due = counts.met + counts.missed + counts.notAssessable;
  const times = ledger.map(observedOf);
  // What a unit could not see was sitting for certain: the rhythm has nothing to say of it.
  const days = hidden.length === 0 ? ledger.map((row) => rhythmDay(row, notes)) : [];
  const rhythm = ownRhythmRange(days, days);
  const observed = times.reduce((total, day) => total + day.observed, 0);
  const onLoan = times.reduce((total, day) => total + day.onLoan, 0);
  const observedShare = onLoan === 0 ? null : observed / onLoan;
  return {
    counts,
    share: boundsOf(counts),
    rhythm,
    scenarios: scenarios(counts, inGapsNobodySat(ledger, stretches), rhythm),
    observedShare,
    seated: times.reduce((total, day) => total + day.seated, 0),
    unknown: onLoan - observed,
    daysEnough: times.filter(
      (day) => day.onLoan > 0 && day.observed / day.onLoan >= settings.dayCountsFromShare,
    ).length,
    daysNeeded: settings.daysForAFigure,
    acrossUnits: new Set(ledger.map(({ loanId }) => loanId)).size > 1,
    unseen: [...new Set(hidden.map(({ words }) => words))],
    leadWithRange:
      (observedShare !== null && 1 - observedShare > settings.leadWithRangeUnobservedShare) ||
      (due > 0 && counts.notAssessable / due > settings.leadWithRangeUnobservedShare),
  };
}

const rhythmDay = (row: PersonLedgerDay, notes: readonly Note[]): RhythmDay => ({
  start: row.startsAt,
  weekend: isWeekend(row.day),
  runs: runsOfRow(row),
  counts: row,
  away: notedAway(
    notes.filter(({ loanId }) => loanId === row.loanId),
    { start: row.startsAt, end: row.endsAt },
  ),
});

/** Loan time of a day that has passed, how much of it has a known state and how much was sitting, in milliseconds. */
export function observedOf(row: Pick<PersonLedgerDay, "runs">): {
  readonly observed: number;
  readonly onLoan: number;
  readonly seated: number;
} {
  let observed = 0;
  let onLoan = 0;
  let seated = 0;
  for (const { state, start, end } of runsOfRow(row)) {
    if (state === "outside-loan" || state === "to-come") continue;
    onLoan += end - start;
    if (observedStates.includes(state)) observed += end - start;
    if (state === "seated") seated += end - start;
  }
  return { observed, onLoan, seated };
}
