import type { IncidentId, LoanId, StaffId } from "../domain/ids.ts";
import type { IncidentLine } from "../domain/incidents/incident-line.ts";
import { isHeld } from "../domain/incidents/shared-silence.ts";
import { scopeMeaning } from "../domain/incidents/silence-scopes.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import {
  incidentsKnownBy,
  incidentsSince,
  type LoanInIncident,
  loansInIncidentsSince,
  unitsKnownBy,
  unitsOfIncidents,
} from "../store/incidents.ts";

export interface HeldTogether {
  readonly lines: readonly IncidentLine[];
  /** Is this gap told by an incident, so that nobody is asked about it by themselves? */
  readonly holds: (gap: {
    readonly loan: LoanId;
    readonly start: Instant;
    readonly end: Instant | null;
  }) => IncidentId | null;
}

/** Ended incidents stay on the lists for so long. */
const listedAfter = 7 * 24 * millisecondsIn.hour;

/** Incidents of the last days, and which gaps they hold. A few queries, however many units.
 *  @param clinician only incidents with people of theirs
 *  @param knownBy null: as known now */
export function heldTogether(
  services: Services,
  clinician: StaffId | null,
  knownBy: Instant | null = null,
): HeldTogether {
  const since = instant((knownBy ?? services.clock.now()) - listedAfter);
  const all = unitsKnownBy(loansInIncidentsSince(services.db, since), knownBy);
  const loans = incidentsKnownBy(all, knownBy);
  return { lines: linesOf(services, { since, knownBy }, loans, clinician), holds: holdsOf(loans) };
}

function linesOf(
  services: Services,
  { since, knownBy }: { readonly since: Instant; readonly knownBy: Instant | null },
  loans: readonly LoanInIncident[],
  clinician: StaffId | null,
): IncidentLine[] {
  const incidents = incidentsKnownBy(incidentsSince(services.db, since), knownBy);
  const ids = incidents.map(({ id }) => id);
  const units = unitsKnownBy(unitsOfIncidents(services.db, ids), knownBy);
  return incidents
    .map((row): IncidentLine => {
      const inside = units.filter(({ incidentId }) => incidentId === row.id);
      const own = loans.filter(({ id, clinicianId }) => id === row.id && clinicianId === clinician).length;
      return {
        id: row.id,
        scope: { kind: row.scope, name: row.scopeName },
        meaning: scopeMeaning[row.scope],
        start: row.startsAt,
        end: row.endsAt,
        expected: row.expected,
        silent: inside.length,
        back: inside.filter(({ backAt }) => backAt !== null).length,
        own: clinician === null ? null : own,
      };
    })
    .filter(({ own }) => own !== 0);
}

function holdsOf(loans: readonly LoanInIncident[]): HeldTogether["holds"] {
  const byLoan = new Map<LoanId, LoanInIncident[]>();
  for (const one of loans) byLoan.set(one.loanId, [...(byLoan.get(one.loanId) ?? []), one]);
  return ({ loan, start, end }) =>
    byLoan
      .get(loan)
      ?.find((one) => isHeld({ start: one.startsAt, end: one.endsAt }, one.silentFrom, { start, end }))?.id ??
    null;
}
