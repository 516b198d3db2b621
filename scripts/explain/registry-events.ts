import {
  borrowerId,
  certificateSerial,
  loanId,
  lotId,
  modelId,
  noteId,
  planId,
  staffId,
  unitSerial,
} from "../../server/domain/ids.ts";
import { type Instant, instant, millimetres } from "../../server/domain/units.ts";
import { insertBorrower } from "../../server/store/borrowers.ts";
import { addCertificate } from "../../server/store/certificates.ts";
import type { Database } from "../../server/store/database.ts";
import { insertLoanNote } from "../../server/store/loan-notes.ts";
import { insertLoan, markLoanEnded } from "../../server/store/loans.ts";
import { insertLot, lotById } from "../../server/store/lots.ts";
import { insertModel } from "../../server/store/models.ts";
import { insertReliefPlan } from "../../server/store/relief-plans.ts";
import { addStaff } from "../../server/store/staff.ts";
import { insertUnit } from "../../server/store/units.ts";
import type { Manifest } from "./manifest.ts";

/** One thing that the registry learned, and when. Before that nobody knew of it, whenever it happened. */
export interface RegistryEvent {
  readonly at: Instant;
  apply(db: Database): void;
}

const clinician = staffId("staff_case");

/** What is there from the start: models, units and people. */
export function layOut(db: Database, manifest: Manifest): void {
  const at = instant(0);
  addStaff(db, { id: clinician, login: "case", name: "The case", role: "clinician", createdAt: at });
  for (const { id, ...model } of manifest.models)
    insertModel(db, {
      id: modelId(id),
      name: id,
      size: id,
      width: model.widthMillimetres,
      depth: model.depthMillimetres,
      weightLimit: model.weightLimitKilograms,
      rows: model.rows,
      columns: model.columns,
      pitch: model.pitchMillimetres,
      ratedCapacity: model.ratedMilliampHours,
      draw: model.drawMilliamperes,
    });
  for (const unit of manifest.units) {
    const kind = { modelId: modelId(unit.model), lotId: lotId(unit.lot) };
    if (!lotById(db, kind.lotId)) insertLot(db, { id: kind.lotId, modelId: kind.modelId, receivedAt: at });
    const unheard = { firmware: null, hardware: null, relay: null, lastHeardAt: null };
    insertUnit(db, {
      serial: unitSerial(unit.serial),
      ...kind,
      place: "on-loan",
      placeSince: at,
      ...unheard,
    });
  }
  const [first] = manifest.models;
  for (const { id, area, weightKilograms } of manifest.people)
    insertBorrower(db, {
      id: borrowerId(id),
      name: id,
      area,
      address: "",
      phone: "",
      weight: weightKilograms,
      seatWidth: first?.widthMillimetres ?? millimetres(0),
      seatDepth: first?.depthMillimetres ?? millimetres(0),
      clinicianId: clinician,
      createdAt: at,
    });
}

/** What came to be known as time went by, oldest first. */
export function registryEvents(manifest: Manifest): RegistryEvent[] {
  return [
    ...loanEvents(manifest),
    ...planEvents(manifest),
    ...noteEvents(manifest),
    ...certificateEvents(manifest),
  ].sort((a, b) => a.at - b.at);
}

/** Ends come first: a unit that goes from one loan to the next at one moment is never on both. */
function loanEvents({ loans }: Manifest): RegistryEvent[] {
  const ends = loans.flatMap(({ id, endedAt }): RegistryEvent[] => {
    if (endedAt === null) return [];
    const end = (db: Database) => void markLoanEnded(db, loanId(id), endedAt, "");
    return [{ at: endedAt, apply: end }];
  });
  const starts = loans.map(({ id, unit, person, startedAt, follows }): RegistryEvent => {
    const row = {
      id: loanId(id),
      reference: id,
      unitSerial: unitSerial(unit),
      borrowerId: borrowerId(person),
      openedAt: startedAt,
      startedAt,
      dueBackOn: null,
      endedAt: null,
      endReason: null,
      followsLoanId: follows === null ? null : loanId(follows),
    };
    return { at: startedAt, apply: (db) => insertLoan(db, row) };
  });
  return [...ends, ...starts];
}

const planEvents = ({ plans }: Manifest): RegistryEvent[] =>
  plans.map(({ person, version, validFrom, setAt, intervalMinutes, holdSeconds, kinds }) => ({
    at: setAt ?? validFrom,
    apply: (db) =>
      insertReliefPlan(db, {
        id: planId(`plan_${person}_${version}`),
        borrowerId: borrowerId(person),
        version,
        validFrom,
        interval: intervalMinutes,
        hold: holdSeconds,
        kinds,
        setBy: clinician,
      }),
  }));

/** A visit that was done is kept as the desks keep it: as a note of a visit on the loan. */
function noteEvents({ notes, visits }: Manifest): RegistryEvent[] {
  const done = visits
    .filter(({ status }) => status === "done")
    .map(({ loan, at }) => ({
      loan,
      kind: "visit" as const,
      from: at,
      until: null,
      text: "",
      writtenAt: at,
    }));
  return [...notes, ...done].map(({ loan, kind, from, until, text, writtenAt }, index) => ({
    at: writtenAt ?? from,
    apply: (db) =>
      insertLoanNote(db, {
        id: noteId(`note_${index}`),
        loanId: loanId(loan),
        kind,
        fromAt: from,
        untilAt: until,
        text,
        writtenBy: clinician,
        writtenAt: writtenAt ?? from,
      }),
  }));
}

function certificateEvents({ certificates, loans }: Manifest): RegistryEvent[] {
  return certificates.flatMap(({ loan, issuedAt, expiresAt, revokedAt }, index) => {
    const unit = loans.find(({ id }) => id === loan)?.unit;
    if (unit === undefined) return [];
    const row = {
      serial: certificateSerial(`c${index}`),
      unitSerial: unitSerial(unit),
      loanId: loanId(loan),
      keyThumbprint: "",
      pem: "",
      issuedAt,
      expiresAt,
      revokedAt,
    };
    return [{ at: issuedAt, apply: (db: Database) => addCertificate(db, row) }];
  });
}
