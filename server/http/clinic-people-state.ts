import type { BorrowerId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { millisecondsIn } from "../domain/units.ts";
import { spokenMoment } from "../domain/verdicts/spoken.ts";
import type { Services } from "../services.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";

/** A unit that reported within this is said to be recording: they report in batches. */
const fresh = 30 * millisecondsIn.minute;

/** One sentence a person on where their record stands, asked for all at once. */
export async function recordStates(
  services: Services,
  loans: readonly ClinicLoan[],
): Promise<ReadonlyMap<BorrowerId, string>> {
  const open = loans.filter(({ endedAt }) => endedAt === null);
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

export const nothingOnLoan = "No unit is on loan now.";
