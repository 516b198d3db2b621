import { type LedgerRun, minuteStates } from "../domain/ledger/minute-state.ts";
import { instant } from "../domain/units.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";

/** A stored day's runs with their states by name. */
export const runsOfRow = ({ runs }: Pick<PersonLedgerDay, "runs">): LedgerRun[] =>
  runs.flatMap(([index, start, end]) => {
    const state = minuteStates[index];
    return state === undefined ? [] : [{ state, start: instant(start), end: instant(end) }];
  });
