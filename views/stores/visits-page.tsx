import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { counted } from "../layout/counted.ts";
import { Field } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dayWords, timeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { type LoanVisit, visitWords } from "./loan-facts.ts";

export interface VisitLine extends LoanVisit {
  readonly doneBy: string;
  readonly loanId: string;
  readonly loanReference: string;
  readonly unitSerial: string;
  readonly borrowerName: string;
  readonly area: string;
  readonly reason: string;
}

interface VisitsPageProps {
  readonly frame: StoresFrame;
  readonly today: LocalDay;
  /** Planned, earliest day first. */
  readonly visits: readonly VisitLine[];
  readonly people: readonly { readonly id: string; readonly name: string }[];
}

export function VisitsPage({ frame, today, visits, people }: VisitsPageProps) {
  const days = [...new Set(visits.map((visit) => visit.day))];
  return (
    <Page title="Visits" {...frame}>
      <h1>Visits planned</h1>
      <LiveRegion id="visits" topics={["stores"]} url="/stores/visits">
        {days.length === 0 ? (
          <p class="empty">
            No visit is planned. Plan one from a loan’s page. Last checked at{" "}
            {timeWords(frame.now, frame.zone)}.
          </p>
        ) : (
          days.map((day) => (
            <Day day={day} today={today} visits={visits.filter((visit) => visit.day === day)} />
          ))
        )}
      </LiveRegion>
      <section class="screen-only">
        <h2>Run sheet</h2>
        <form class="filter" method="get" action="/stores/visits/run-sheet">
          <Field
            label="Who goes"
            name="person"
            choices={people.map((person) => ({ value: person.id, words: person.name }))}
          />
          <Field label="Day" name="day" type="date" value={days.find((day) => day >= today) ?? today} />
          <button type="submit" class="quiet">
            Show the run sheet
          </button>
        </form>
      </section>
    </Page>
  );
}

function Day({ day, today, visits }: { day: LocalDay; today: LocalDay; visits: readonly VisitLine[] }) {
  return (
    <section>
      <h2>
        {dayWords(day)}
        {day === today ? ", today" : ""}
        {day < today ? (
          <span class="warning">
            {" "}
            <span aria-hidden="true">⚠</span> overdue
          </span>
        ) : null}
      </h2>
      <table class="ledger stacks">
        <caption>{counted(visits.length, "visit")}</caption>
        <thead>
          <tr>
            <th scope="col">Task</th>
            <th scope="col">Where</th>
            <th scope="col">Unit out</th>
            <th scope="col">Who goes</th>
            <th scope="col">Why</th>
          </tr>
        </thead>
        <tbody>
          {visits.map((visit) => (
            <tr>
              <th scope="row">
                <a href={`/stores/visits/${visit.id}`}>{visitWords(visit)}</a>
              </th>
              <td data-label="Where">
                {visit.borrowerName}, {visit.area} (
                <a href={`/stores/loans/${visit.loanId}`}>{visit.loanReference}</a>)
              </td>
              <td data-label="Unit out">{visit.unitSerial}</td>
              <td data-label="Who goes">
                <a href={`/stores/visits/run-sheet?person=${visit.doneBy}&day=${day}`}>{visit.doneByName}</a>
              </td>
              <td data-label="Why">{visit.reason}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
