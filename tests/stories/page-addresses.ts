import {
  type IdentityQuestionId,
  type IncidentId,
  identityQuestionId,
  incidentId,
  unitSerial,
} from "../../server/domain/ids.ts";
import { addDays, localDayOf } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import { startBenchSession } from "../../server/programme/bench-start.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { openRecall } from "../../server/programme/recall-open.ts";
import { planVisit } from "../../server/programme/visit-plan.ts";
import { makeInvitation } from "../../server/security/invitations.ts";
import { stretchesOfClinicSince } from "../../server/store/clinic-stretches.ts";
import { insertIdentityQuestion } from "../../server/store/identity.ts";
import { saveIncident, saveIncidentUnit } from "../../server/store/incidents.ts";
import { addPerson, codeOf, lend } from "../support/homes.ts";
import { done, unitsInStock } from "../support/programme.ts";
import type { ToldProgramme } from "../support/told-programme.ts";

/** Routes that answer with something other than a page to read, each with what it is instead. */
export const notPages: Readonly<Record<string, string>> = {
  "/live": "an event stream",
  "/certificates/:code": "printed, and looked at by the story that earns one",
  "/certificates/:code/signed": "a signed text",
  "/authority/signing-key.json": "a key",
};

/** For each route with a parameter, the address of something that is really there. */
export type Addresses = Readonly<Record<string, string>>;

/** Gives every page of the console something to show: a visit, a recall, a code not used yet. */
export async function addressesIn(told: ToldProgramme): Promise<Addresses> {
  const { services } = told.running;
  const coordinator = told.actor("coordinator");
  const [replacement, waiting, benched] = unitsInStock;
  const { visit } = done(
    planVisit(services, coordinator, {
      loan: told.column.loan,
      task: { kind: "swap", replacement: unitSerial(replacement) },
      day: addDays(localDayOf(services.clock.now(), services.zone), 2),
      doneBy: told.staff.technician,
      reason: "a column of the grid no longer answers",
    }),
  );
  const borrower = addPerson(told, "Person Waiting");
  const notEnrolledYet = lend(told, borrower, waiting);
  await codeOf(told, notEnrolledYet);
  const { recall } = done(
    openRecall(services, coordinator, {
      title: "Charging port may run warm",
      advice: "Please stop charging it. Keep sitting on it until we bring you another.",
      criterion: "lot",
      value: "LOT-M1",
    }),
  );
  const bench = { unit: unitSerial(benched), from: "in-stock", to: "on-the-bench" } as const;
  done(moveUnit(services, coordinator, bench));
  const { session } = done(startBenchSession(services, told.actor("technician"), bench.unit));
  const [stretch] = stretchesOfClinicSince(services.db, told.staff.clinician, instant(0));
  if (!stretch) throw new Error("no stretch in the record asks a question");
  const loan = `/stores/loans/${told.steady.loan}`;
  return {
    "/set-up/:token": `/set-up/${makeInvitation(services, told.staff.technician)}`,
    "/stores/borrowers/:id": `/stores/borrowers/${borrower}`,
    "/stores/loans/:id": `/stores/loans/${told.column.loan}`,
    "/stores/loans/:id/end": `${loan}/end`,
    "/stores/loans/:id/swap": `${loan}/swap`,
    "/stores/loans/:id/collection": `${loan}/collection`,
    "/stores/loans/:id/pairing-code": `/stores/loans/${notEnrolledYet}/pairing-code`,
    "/stores/units/:serial": `/stores/units/${told.column.serial}`,
    "/stores/visits/:id": `/stores/visits/${visit}`,
    "/stores/recalls/:id": `/stores/recalls/${recall}`,
    "/bench/units/:serial": `/bench/units/${told.column.serial}`,
    "/bench/models/:id": "/bench/models/medium",
    "/bench/units/:serial/log": `/bench/units/${told.column.serial}/log`,
    "/bench/sessions/:id": `/bench/sessions/${session}`,
    "/clinic/people/:id": `/clinic/people/${told.column.borrower}`,
    "/clinic/people/:id/lines": `/clinic/people/${told.column.borrower}/lines?figure=seated`,
    "/clinic/gaps/:id": `/clinic/gaps/${stretch.id}`,
    "/incidents/:id": `/incidents/${silentTogether(told)}`,
    "/clinic/identity/:id": `/clinic/identity/${whoseRecord(told)}`,
  };
}

/** Two units that fell silent with many others. */
function silentTogether({ running: { services }, column, steady }: ToldProgramme): IncidentId {
  const at = services.clock.now();
  const id = incidentId("incident_shown");
  const startsAt = instant(at - 3_600_000);
  saveIncident(services.db, {
    id,
    startsAt,
    endsAt: null,
    foundAt: at,
    scope: "area",
    scopeName: "North",
    expected: 9,
  });
  for (const { loan, serial } of [column, steady])
    saveIncidentUnit(services.db, {
      incidentId: id,
      loanId: loan,
      unitSerial: unitSerial(serial),
      silentFrom: startsAt,
      backAt: null,
    });
  return id;
}

/** A cushion that two people seem to share. */
function whoseRecord({ running: { services }, column }: ToldProgramme): IdentityQuestionId {
  const at = services.clock.now();
  const id = identityQuestionId("question_shown");
  insertIdentityQuestion(services.db, {
    id,
    kind: "two-people",
    loanId: column.loan,
    otherLoanId: null,
    startsAt: instant(at - 2 * 86_400_000),
    endsAt: at,
    foundAt: at,
    probability: 750_000,
    evidence: [
      "6 of 20 sits were by a body of about 88 kg, this person's own load is 62 kg; between them the usual load came back.",
    ],
    answer: null,
    reason: null,
    answeredBy: null,
    answeredAt: null,
  });
  return id;
}
