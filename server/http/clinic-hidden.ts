import type { LoanId, UnitSerial } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { assessedVisibility, findingsDuring } from "../store/stretch-clues.ts";

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

const directionWords: Readonly<Record<string, string>> = {
  left: "leans to the left",
  right: "leans to the right",
  forward: "leans forward",
};
const gridFindings: readonly string[] = ["row-open", "column-open", "cell-open", "cell-stuck"];

/** Directions count as hidden where the unit, as last assessed, misses at least half of the leans that way. */
export function hiddenTimes(services: Services, loan: LoanOfUnit, span: Span): HiddenTime[] {
  const visibility = assessedVisibility(services.db, loan.unitSerial)?.visibility ?? {};
  const hides = Object.entries(visibility)
    .filter(([, { best }]) => best <= 5)
    .map(([direction]) => directionWords[direction] ?? direction);
  if (hides.length === 0) return [];
  return findingsDuring(services.db, loan.unitSerial, span)
    .filter(({ kind }) => gridFindings.includes(kind))
    .map(({ since, where }) => ({
      loan: loan.id,
      start: instant(Math.max(since, loan.startedAt ?? since)),
      end: loan.endedAt ?? span.end,
      words: `The unit could not see most ${hides.join(" and ")}${where === "" ? "" : ` (${where})`}`,
    }));
}
