import type { BorrowerId } from "../domain/ids.ts";
import { minuteStates, observedStates } from "../domain/ledger/minute-state.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import { spokenMoment } from "../domain/verdicts/spoken.ts";
import type { Services } from "../services.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import { ledgerOfPersonDuring } from "../store/clinic-stretches.ts";
import type { KnownOn } from "./known-on.ts";

/** A unit that reported within this is said to be recording: they report in batches. */
const fresh = 30 * millisecondsIn.minute;

/** One sentence a person on where their record stands, asked for all at once. */
export async function recordStates(
  services: Services,
  loans: readonly ClinicLoan[],
  known: KnownOn | null,
): Promise<ReadonlyMap<BorrowerId, string>> {
  const open = loans.filter(({ endedAt }) => endedAt === null);
  if (known !== null)
    return new Map(open.map((loan) => [loan.borrowerId, stateThen(services, loan, known)] as const));
  const last = await services.telemetry.lastRecordedAt(open.map(({ unitSerial }) => unitSerial));
  return new Map(
    open.map(
      (loan) => [loan.borrowerId, stateOf(services, loan, last.get(loan.unitSerial) ?? null)] as const,
    ),
  );
}

function stateOf(services: Services, loan: ClinicLoan, last: Instant | null): string {
  if (loan.startedAt === null) return "The unit has not been enrolled yet.";
  if (last === null || last < loan.startedAt) return "Nothing has been recorded yet.";
  const when = spokenMoment(last, services.zone);
  return services.clock.now() - last <= fresh
    ? `Recording; last record ${when}.`
    : `No record since ${when}.`;
}

/** By the ledger as it was held then: what had been recorded of the week before. */
function stateThen({ db, zone }: Services, { borrowerId, startedAt }: ClinicLoan, { end }: KnownOn): string {
  if (startedAt === null) return "The unit had not been enrolled yet.";
  const week = { start: instant(end - 7 * 24 * millisecondsIn.hour), end };
  const recorded = ledgerOfPersonDuring(db, borrowerId, week, end)
    .flatMap(({ runs }) => runs)
    .filter(([index]) => observedStates.some((state) => state === minuteStates[index]))
    .map(([, , until]) => until);
  return recorded.length === 0
    ? "Nothing had been recorded in the week before."
    : `Last record known then: ${spokenMoment(instant(Math.max(...recorded)), zone)}.`;
}

export const nothingOnLoan = "No unit is on loan now.";
