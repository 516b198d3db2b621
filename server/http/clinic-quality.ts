import type { QualityShown } from "../../views/clinic/quality-part.tsx";
import { reliefQuality } from "../domain/adherence/relief-quality.ts";
import { minuteStates } from "../domain/ledger/minute-state.ts";
import { instant } from "../domain/units.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import type { PersonDays } from "./clinic-ribbon.ts";

/** Each loan by itself: a step where one unit took over may be the sensor's. */
export function qualityShown(
  loans: readonly ClinicLoan[],
  { ledger, reliefs, hidden }: Pick<PersonDays, "ledger" | "reliefs" | "hidden">,
): QualityShown[] {
  const seated = minuteStates.indexOf("seated");
  return loans.flatMap(({ id, unitSerial }) => {
    const rows = ledger.filter(({ loanId }) => loanId === id);
    if (rows.length === 0) return [];
    const sits = rows.flatMap(({ runs }) =>
      runs.flatMap(([state, start, end]) =>
        state === seated ? [{ start: instant(start), end: instant(end) }] : [],
      ),
    );
    const own = reliefs.get(id) ?? [];
    const unseen = hidden.filter(({ loan }) => loan === id).map(({ words }) => words);
    return [{ unit: unitSerial, unseen, ...reliefQuality(own, sits) }];
  });
}
