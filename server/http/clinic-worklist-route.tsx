import { type PersonLine, WorklistPage } from "../../views/clinic/worklist-page.tsx";
import { instant, millisecondsIn } from "../domain/units.ts";
import { clinicWorklist, type OpenQuestion } from "../domain/verdicts/worklist.ts";
import { type HeldTogether, heldTogether } from "../programme/incident-lines.ts";
import type { Services } from "../services.ts";
import { asKnownBy, loansOfClinic, peopleOfClinician } from "../store/clinic-people.ts";
import {
  type JudgedStretch,
  lastCheckedFor,
  learnedStretchesOf,
  stretchesOfClinicSince,
} from "../store/clinic-stretches.ts";
import { openIdentityQuestions } from "../store/identity.ts";
import { openPrivacyIncidents } from "../store/privacy-incidents.ts";
import { clinicFrame, clinicianOf } from "./clinic-frame.ts";
import { nothingOnLoan, recordStates } from "./clinic-people-state.ts";
import { type KnownOn, knownOnAsked } from "./known-on.ts";
import type { AppContext, Route } from "./route.ts";

/** How far back the list looks; older questions are on the person's page. */
const daysListed = 7;

export const worklistRoute = (services: Services): Route => ({
  method: "GET",
  path: "/clinic",
  needs: "see-clinic-worklist",
  handle: (context) => showWorklist(services, context),
});

async function showWorklist(services: Services, context: AppContext) {
  const clinician = clinicianOf(context);
  const known = knownOnAsked(services, context);
  const by = known?.end ?? null;
  const now = by ?? services.clock.now();
  const since = instant(now - daysListed * 24 * millisecondsIn.hour);
  const answered = learnedStretchesOf(services.db, clinician, by);
  const together = heldTogether(services, clinician, by);
  const questions = stretchesOfClinicSince(services.db, clinician, since, by).flatMap((stretch) =>
    answered.has(stretch.id) || isHeldBy(together, stretch) ? [] : questionOf(stretch),
  );
  return context.html(
    <WorklistPage
      frame={clinicFrame(services, context, "/clinic")}
      worklist={clinicWorklist(questions, now)}
      incidents={together.lines}
      whose={openIdentityQuestions(services.db, clinician, by).map(({ question, borrowerName }) => ({
        id: question.id,
        kind: question.kind,
        name: borrowerName,
        start: question.startsAt,
      }))}
      privacy={known === null ? openPrivacyIncidents(services.db, clinician) : []}
      people={await peopleLines(services, clinician, known)}
      lastChecked={known === null ? lastCheckedFor(services.db, clinician) : null}
      days={daysListed}
    />,
  );
}

/** One line tells it for all of them; a personal question would ask the wrong people. */
const isHeldBy = ({ holds }: HeldTogether, { kind, loanId, startsAt, endsAt }: JudgedStretch): boolean =>
  kind === "gap" && holds({ loan: loanId, start: startsAt, end: endsAt }) !== null;

const questionOf = (row: JudgedStretch): OpenQuestion[] =>
  row.verdict === null
    ? []
    : [
        {
          id: row.id,
          loan: row.loanId,
          borrower: row.borrowerId,
          name: row.borrowerName,
          kind: row.kind,
          start: row.startsAt,
          end: row.endsAt,
          filled: row.filledAt !== null,
          verdict: row.verdict,
        },
      ];

async function peopleLines(
  services: Services,
  clinician: ReturnType<typeof clinicianOf>,
  known: KnownOn | null,
): Promise<PersonLine[]> {
  const states = await recordStates(
    services,
    asKnownBy(loansOfClinic(services.db, clinician), known?.end ?? null),
    known,
  );
  return peopleOfClinician(services.db, clinician).map(({ id, name, area }) => ({
    id,
    name,
    area,
    state: states.get(id) ?? nothingOnLoan,
  }));
}
