import type { LeanDirection } from "../domain/condition/condition.ts";
import { changedBy } from "../domain/identity-trouble/lay.ts";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { hiddenLeansOf } from "../store/hidden-leans.ts";
import { takenFrom } from "../store/identity.ts";
import { findingsDuring } from "../store/stretch-clues.ts";

/** Loan time in which part of the grid was dead, or the cushion lay back to front, with what that hides. */
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
  const backToFront = layBackToFront(services, loan, span, knownBy);
  if (hides.length === 0) return backToFront;
  const behindFaults = findingsDuring(services.db, loan.unitSerial, span, knownBy)
    .filter(({ kind }) => gridFindings.includes(kind))
    .map(({ since, where, clearedAt }) => ({
      loan: loan.id,
      start: instant(Math.max(since, loan.startedAt ?? since)),
      end: instant(Math.min(loan.endedAt ?? span.end, clearedAt ?? span.end)),
      words: `The unit could not see most ${hides.join(" and ")}${where === "" ? "" : ` (${where})`}`,
    }));
  return [...behindFaults, ...backToFront];
}

/** Forward leans and tilts are told by rules that are not each other's mirror: some of each went untold. */
const layBackToFront = (
  { db }: Services,
  { id }: LoanOfUnit,
  span: Span,
  knownBy: Instant | null,
): HiddenTime[] =>
  takenFrom(db, id, span, knownBy).flatMap(({ lay, startsAt, endsAt }) =>
    lay !== null && changedBy[lay].frontAndRear
      ? [
          {
            loan: id,
            start: startsAt,
            end: endsAt,
            words: "The cushion lay back to front and could not tell some leans forward",
          },
        ]
      : [],
  );
