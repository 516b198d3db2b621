import { and, asc, desc, eq, gt, gte, inArray, isNotNull, isNull, or } from "drizzle-orm";
import type { IncidentId, LoanId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { certificate } from "./schema/enrolment.ts";
import { unit } from "./schema/equipment.ts";
import { incident, incidentUnit } from "./schema/incidents.ts";
import { borrower, loan } from "./schema/loans.ts";
import { stretch } from "./schema/verdicts.ts";

export type IncidentRow = typeof incident.$inferSelect;
export type IncidentUnitRow = typeof incidentUnit.$inferSelect;

/** Started loans in force at some time since `since`, with what their units share with others. */
export const loansToWatch = (db: Database, since: Instant) =>
  db
    .select({
      loan: loan.id,
      unit: loan.unitSerial,
      startedAt: loan.startedAt,
      endedAt: loan.endedAt,
      area: borrower.area,
      lot: unit.lotId,
      firmware: unit.firmware,
      relay: unit.relay,
    })
    .from(loan)
    .innerJoin(unit, eq(unit.serial, loan.unitSerial))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(and(isNotNull(loan.startedAt), or(isNull(loan.endedAt), gt(loan.endedAt, since))))
    .all();

/** Gaps of all loans that began since `since`. */
export const gapsBegunSince = (db: Database, since: Instant) => gapsBegun(db, since).all();

/** The question of `gapsBegunSince`, so that it can be asked how it is answered. */
export const gapsBegun = (db: Database, since: Instant) =>
  db
    .select({ loan: stretch.loanId, start: stretch.startsAt, end: stretch.endsAt })
    .from(stretch)
    .where(and(eq(stretch.kind, "gap"), gte(stretch.startsAt, since)));

/** When the last certificate of each open loan ends or was revoked. */
export function certificateEnds(db: Database): ReadonlyMap<LoanId, Instant> {
  const rows = db
    .select({ loan: loan.id, expires: certificate.expiresAt })
    .from(certificate)
    .innerJoin(loan, eq(loan.id, certificate.loanId))
    .where(and(isNull(loan.endedAt), isNull(certificate.revokedAt)))
    .orderBy(asc(certificate.expiresAt))
    .all();
  return new Map(rows.map(({ loan: id, expires }) => [id, expires]));
}

export const incidentById = (db: Database, id: IncidentId): IncidentRow | null =>
  db.select().from(incident).where(eq(incident.id, id)).get() ?? null;

/** What was found later was not known of; what came to an end later went on. @param knownBy null: as known now */
export function incidentsKnownBy<Row extends { readonly foundAt: Instant; readonly endsAt: Instant | null }>(
  rows: readonly Row[],
  knownBy: Instant | null,
): readonly Row[] {
  if (knownBy === null) return rows;
  return rows
    .filter(({ foundAt }) => foundAt < knownBy)
    .map((row) => (row.endsAt !== null && row.endsAt >= knownBy ? { ...row, endsAt: null } : row));
}

/** The same of units in them. */
export function unitsKnownBy<Row extends { readonly silentFrom: Instant; readonly backAt: Instant | null }>(
  rows: readonly Row[],
  knownBy: Instant | null,
): readonly Row[] {
  if (knownBy === null) return rows;
  return rows
    .filter(({ silentFrom }) => silentFrom < knownBy)
    .map((row) => (row.backAt !== null && row.backAt >= knownBy ? { ...row, backAt: null } : row));
}

/** Going on, or begun since `since`; newest first. */
export const incidentsSince = (db: Database, since: Instant): readonly IncidentRow[] =>
  db
    .select()
    .from(incident)
    .where(or(isNull(incident.endsAt), gte(incident.startsAt, since)))
    .orderBy(desc(incident.startsAt))
    .all();

export const unitsOfIncidents = (db: Database, ids: readonly IncidentId[]): readonly IncidentUnitRow[] =>
  db
    .select()
    .from(incidentUnit)
    .where(inArray(incidentUnit.incidentId, [...ids]))
    .orderBy(asc(incidentUnit.silentFrom), asc(incidentUnit.unitSerial))
    .all();

/** The units of an incident with their people; who may read a name is the caller's to decide. */
export const incidentUnitsInFull = (db: Database, id: IncidentId) =>
  db
    .select({
      loanId: incidentUnit.loanId,
      unitSerial: incidentUnit.unitSerial,
      silentFrom: incidentUnit.silentFrom,
      backAt: incidentUnit.backAt,
      reference: loan.reference,
      borrowerId: loan.borrowerId,
      borrowerName: borrower.name,
      clinicianId: borrower.clinicianId,
    })
    .from(incidentUnit)
    .innerJoin(loan, eq(loan.id, incidentUnit.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(eq(incidentUnit.incidentId, id))
    .orderBy(asc(incidentUnit.silentFrom), asc(incidentUnit.unitSerial))
    .all();

/** Loans in incidents that go on or began since `since`. */
export const loansInIncidentsSince = (db: Database, since: Instant) =>
  db
    .select({
      id: incident.id,
      startsAt: incident.startsAt,
      endsAt: incident.endsAt,
      foundAt: incident.foundAt,
      loanId: incidentUnit.loanId,
      silentFrom: incidentUnit.silentFrom,
      backAt: incidentUnit.backAt,
      clinicianId: borrower.clinicianId,
    })
    .from(incidentUnit)
    .innerJoin(incident, eq(incident.id, incidentUnit.incidentId))
    .innerJoin(loan, eq(loan.id, incidentUnit.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(or(isNull(incident.endsAt), gte(incident.startsAt, since)))
    .all();
export type LoanInIncident = ReturnType<typeof loansInIncidentsSince>[number];

export function saveIncident(db: Database, row: IncidentRow): void {
  db.insert(incident).values(row).onConflictDoUpdate({ target: incident.id, set: row }).run();
}

/** Puts a unit into an incident, or says when it was back. */
export function saveIncidentUnit(db: Database, row: IncidentUnitRow): void {
  db.insert(incidentUnit)
    .values(row)
    .onConflictDoUpdate({
      target: [incidentUnit.incidentId, incidentUnit.loanId],
      set: { backAt: row.backAt },
    })
    .run();
}
