import { IncidentPage, type IncidentUnitLine } from "../../views/clinic/incident-page.tsx";
import { storesSections } from "../../views/stores/sections.ts";
import { incidentId } from "../domain/ids.ts";
import { scopeMeaning } from "../domain/incidents/silence-scopes.ts";
import type { Services } from "../services.ts";
import { incidentById, incidentsKnownBy, incidentUnitsInFull, unitsKnownBy } from "../store/incidents.ts";
import { clinicFrame } from "./clinic-frame.ts";
import { knownOnAsked } from "./known-on.ts";
import type { AppContext, Route, SignedIn } from "./route.ts";

/** An incident belongs to no desk: each reads of it what it may know. */
export const incidentRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/incidents/:id",
    needs: "see-incident",
    handle: (context) => showIncident(services, context),
  },
];

function showIncident(services: Services, context: AppContext) {
  const row = incidentById(services.db, incidentId(context.req.param("id") ?? ""));
  if (!row) return context.notFound();
  const by = knownOnAsked(services, context)?.end ?? null;
  // Found later than asked about: as it is, with no day in its address, is all there is to show.
  const [incident = null] = incidentsKnownBy([row], by);
  if (!incident) return context.redirect(`/incidents/${row.id}`, 303);
  const { staff } = context.get("signedIn");
  const all = unitsKnownBy(incidentUnitsInFull(services.db, incident.id), by);
  const units = all.flatMap((unit) => lineFor(staff, unit));
  const frame = clinicFrame(services, context, `/incidents/${incident.id}`);
  return context.html(
    <IncidentPage
      frame={staff.role === "coordinator" ? { ...frame, sections: storesSections } : frame}
      line={{
        id: incident.id,
        scope: { kind: incident.scope, name: incident.scopeName },
        meaning: scopeMeaning[incident.scope],
        start: incident.startsAt,
        end: incident.endsAt,
        expected: incident.expected,
        silent: all.length,
        back: all.filter(({ backAt }) => backAt !== null).length,
        own: staff.role === "clinician" ? units.length : null,
      }}
      foundAt={incident.foundAt}
      units={units}
      named={staff.role === "clinician" ? "Person" : staff.role === "coordinator" ? "Loan" : "Unit"}
      others={all.length - units.length}
    />,
  );
}

/** The clinician sees their own people, the coordinator loans, the technician units and no name. */
function lineFor(
  { role, id }: SignedIn["staff"],
  unit: ReturnType<typeof incidentUnitsInFull>[number],
): IncidentUnitLine[] {
  const { silentFrom, backAt } = unit;
  switch (role) {
    case "clinician":
      return unit.clinicianId === id
        ? [{ name: unit.borrowerName, href: `/clinic/people/${unit.borrowerId}`, silentFrom, backAt }]
        : [];
    case "coordinator":
      return [
        {
          name: `${unit.borrowerName}, ${unit.reference}, ${unit.unitSerial}`,
          href: `/stores/loans/${unit.loanId}`,
          silentFrom,
          backAt,
        },
      ];
    case "technician":
      return [{ name: unit.unitSerial, href: `/bench/units/${unit.unitSerial}`, silentFrom, backAt }];
    case "administrator":
      return [{ name: unit.unitSerial, href: null, silentFrom, backAt }];
  }
}
