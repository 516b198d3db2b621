import type { IncidentLine } from "../../server/domain/incidents/incident-line.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { incidentSentence } from "../layout/incident-lines.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { asKnown, KnownOnForm, KnownOnNotice } from "./known-on.tsx";

export interface IncidentUnitLine {
  /** As this reader may know it: a person, a loan or a serial. */
  readonly name: string;
  readonly href: string | null;
  readonly silentFrom: Instant;
  readonly backAt: Instant | null;
}

interface IncidentPageProps {
  readonly frame: ClinicFrame;
  readonly line: IncidentLine;
  readonly foundAt: Instant;
  readonly units: readonly IncidentUnitLine[];
  /** What their names are to this reader. */
  readonly named: "Person" | "Loan" | "Unit";
  /** Units in it that this reader has nothing to do with. */
  readonly others: number;
}

/** Many units silent at once: one thing to look at, with an end, in place of one question each. */
export function IncidentPage({ frame, line, foundAt, units, named, others }: IncidentPageProps) {
  const { zone } = frame;
  return (
    <Page {...frame} title="Silent together">
      <LiveRegion
        id="incident"
        topics={[`incident:${line.id}`]}
        url={asKnown(frame.knownOn, `/incidents/${line.id}`)}
      >
        <h1>Silent together</h1>
        <KnownOnNotice frame={frame} href={`/incidents/${line.id}`} />
        <p class="verdict-sentence">{incidentSentence(line, zone)}</p>
        <p>{line.meaning}</p>
        <Caution>
          Silence of the units says nothing about whether reliefs were done. Keep to the skin-check plan
          {line.end === null ? "; nobody is to be rung about their own record while this goes on" : ""}.
        </Caution>
        <dl class="facts">
          <dt>First silent</dt>
          <dd>{dateTimeWords(line.start, zone)}</dd>
          <dt>Found</dt>
          <dd>{dateTimeWords(foundAt, zone)}</dd>
          <dt>Over</dt>
          <dd>
            {line.end === null
              ? "not yet: it is over when four of five are back"
              : dateTimeWords(line.end, zone)}
          </dd>
          <dt>Back</dt>
          <dd>
            {line.back} of {line.silent}
          </dd>
        </dl>
        <p>
          While it goes on, verdicts on the gaps inside are held: they stand on no list and ask nobody. When
          it ends each gap is judged again, with what came in; a unit that stays silent is then asked about by
          itself.
        </p>
        <h2>Units in it</h2>
        {units.length === 0 ? (
          <p class="empty">None of them is of a person on your list.</p>
        ) : (
          <div class="wide">
            <table class="ledger stacks">
              <caption>Each with when its record stopped and when it was heard again</caption>
              <thead>
                <tr>
                  <th scope="col">{named}</th>
                  <th scope="col">No record from</th>
                  <th scope="col">Back</th>
                </tr>
              </thead>
              <tbody>
                {units.map(({ name, href, silentFrom, backAt }) => (
                  <tr>
                    <th scope="row">
                      {href === null ? name : <a href={asKnown(frame.knownOn, href)}>{name}</a>}
                    </th>
                    <td data-label="No record from">{dateTimeWords(silentFrom, zone)}</td>
                    <td data-label="Back">{backAt === null ? "not yet" : dateTimeWords(backAt, zone)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        )}
        {others === 0 ? null : (
          <p class="lead">
            {others === 1 ? "One more unit" : `${others} more units`} of people who are not on your list.
          </p>
        )}
        <KnownOnForm frame={frame} href={`/incidents/${line.id}`} />
      </LiveRegion>
    </Page>
  );
}
