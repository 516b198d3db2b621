import type { LeanDirection } from "../domain/condition/condition.ts";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { hiddenLeansOf } from "../store/hidden-leans.ts";
import { findingsDuring } from "../store/stretch-clues.ts";

/** Loan time in which part of the grid was dead, with what that hides. */
export interface HiddenTime extends Span {
  readonly loan: LoanId;
  readonly words: string;
}

interface LoanOfUnit {
  readonly id: LoanId;
  readonly unitSerial: UnitSerial;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
}

const directionWords: Readonly<Record<LeanDirection, string>> = {
  left: "leans to the left",
  right: "leans to the right",
  forward: "leans forward",
};
const gridFindings: readonly string[] = ["row-open", "column-open", "cell-open", "cell-stuck"];

/** Directions count as hidden as `hiddenLeans` has it, of the unit as last assessed.
 *  @param knownBy null: as known now */
export function hiddenTimes(
  services: Services,
  loan: LoanOfUnit,
  span: Span,
  knownBy: Instant | null,
): HiddenTime[] {
  const hides = hiddenLeansOf(services.db, loan.unitSerial, knownBy).map((one) => directionWords[one]);
  if (hides.length === 0) return [];
  return findingsDuring(services.db, loan.unitSerial, span, knownBy)
    .filter(({ kind }) => gridFindings.includes(kind))
    .map(({ since, where, clearedAt }) => ({
      loan: loan.id,
      start: instant(Math.max(since, loan.startedAt ?? since)),
      end: instant(Math.min(loan.endedAt ?? span.end, clearedAt ?? span.end)),
      words: `The unit could not see most ${hides.join(" and ")}${where === "" ? "" : ` (${where})`}`,
    }));
}
