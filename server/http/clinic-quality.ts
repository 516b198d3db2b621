import type { QualityShown } from "../../views/clinic/quality-part.tsx";
import { reliefQuality } from "../domain/adherence/relief-quality.ts";
import type { Span } from "../domain/units.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import type { PersonDays } from "./clinic-ribbon.ts";
import { runsOfRow } from "./clinic-runs.ts";

/** Each loan by itself: a step where one unit took over may be the sensor's. */
export function qualityShown(
  loans: readonly ClinicLoan[],
  { ledger, reliefs, hidden }: Pick<PersonDays, "ledger" | "reliefs" | "hidden">,
): QualityShown[] {
  return loans.flatMap(({ id, unitSerial }) => {
    const rows = ledger.filter(({ loanId }) => loanId === id);
    if (rows.length === 0) return [];
    const own = reliefs.get(id) ?? [];
    const unseen = hidden.filter(({ loan }) => loan === id).map(({ words }) => words);
    return [{ loan: id, unit: unitSerial, unseen, ...reliefQuality(own, seatedRuns(rows)) }];
  });
}

/** @param rows of one loan, oldest first */
export const seatedRuns = (rows: readonly PersonLedgerDay[]): readonly Span[] =>
  rows.flatMap(runsOfRow).filter(({ state }) => state === "seated");
