import type { IdentityTroubleKind } from "../../server/domain/identity-trouble/identity-trouble.ts";
import type { IncidentLine } from "../../server/domain/incidents/incident-line.ts";
import type { Instant } from "../../server/domain/units.ts";
import { spokenCertainty } from "../../server/domain/verdicts/spoken.ts";
import type { ClinicWorklist, OpenQuestion, WorklistEntry } from "../../server/domain/verdicts/worklist.ts";
import { Caution } from "../layout/caution.tsx";
import { IncidentLines } from "../layout/incident-lines.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { agoWords, dateTimeWords, durationWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { troubleWords } from "./identity-words.ts";
import { asKnown, KnownOnForm, KnownOnNotice } from "./known-on.tsx";
import { isWorthDoing } from "./settle-part.tsx";
import { nextStepWords } from "./side-words.ts";

export interface PersonLine {
  readonly id: string;
  readonly name: string;
  readonly area: string;
  /** "recording", "quiet since …", "no unit on loan". */
  readonly state: string;
}

export interface WhoseLine {
  readonly id: string;
  readonly kind: IdentityTroubleKind;
  readonly name: string;
  readonly start: Instant;
}

export interface PrivacyLine {
  readonly question: string;
  readonly name: string;
  readonly openedAt: Instant;
}

interface WorklistPageProps {
  readonly frame: ClinicFrame;
  readonly worklist: ClinicWorklist;
  readonly incidents: readonly IncidentLine[];
  /** Records that may not be of the person they are filed under. */
  readonly whose: readonly WhoseLine[];
  /** Mix-ups of two people's records that nobody has been told of yet. */
  readonly privacy: readonly PrivacyLine[];
  readonly people: readonly PersonLine[];
  readonly lastChecked: Instant | null;
  readonly days: number;
}

export function WorklistPage(props: WorklistPageProps) {
  const { frame, worklist, people, lastChecked, days } = props;
  const checked =
    frame.knownOn !== null
      ? ""
      : lastChecked === null
        ? "No record has been worked through yet."
        : `Last checked ${agoWords(lastChecked, frame.now)}, ${dateTimeWords(lastChecked, frame.zone)}.`;
  return (
    <Page {...frame} title="Clinic">
      <LiveRegion id="clinic-worklist" topics={["clinic"]} url={asKnown(frame.knownOn, "/clinic")}>
        <h1>Whose record has gone quiet or thin</h1>
        <KnownOnNotice frame={frame} href="/clinic" />
        <p class="lead">
          Your own people, the last {days} days. {checked}
        </p>
        <IncidentLines lines={props.incidents} zone={frame.zone} />
        <Privacy lines={props.privacy} frame={frame} />
        <Whose lines={props.whose} frame={frame} />
        {worklist.entries.length === 0 ? (
          <p class="empty">Nobody's record asks a question: no gap and no thin stretch is open. {checked}</p>
        ) : (
          <ol class="worklist">
            {worklist.entries.map((entry) => (
              <Row entry={entry} frame={frame} />
            ))}
          </ol>
        )}
        <Together questions={worklist.together} frame={frame} />
        {worklist.ordinary > 0 ? (
          <p class="lead">
            {worklist.ordinary === 1 ? "One long sit" : `${worklist.ordinary} long sits`} without a recorded
            relief looked ordinary for the person and {worklist.ordinary === 1 ? "is" : "are"} not listed; see
            each person's page.
          </p>
        ) : null}
        <Caution>
          A gap says nothing about whether reliefs were done. Keep to the skin-check plan, whatever stands
          here.
        </Caution>
        <p>
          <a href="/clinic/calibration">How far the verdicts can be believed</a>
        </p>
        <KnownOnForm frame={frame} href="/clinic" />
        <section>
          <h2>Your people</h2>
          {people.length === 0 ? (
            <p class="empty">
              Nobody is on your list yet. The coordinator adds people and names their clinician.
            </p>
          ) : (
            <ul class="people">
              {people.map(({ id, name, state, area }) => (
                <li>
                  <a href={asKnown(frame.knownOn, `/clinic/people/${id}`)}>{name}</a>, {area}
                  <div class="since">{state}</div>
                </li>
              ))}
            </ul>
          )}
        </section>
      </LiveRegion>
    </Page>
  );
}

function Privacy({ lines, frame }: { lines: readonly PrivacyLine[]; frame: ClinicFrame }) {
  if (lines.length === 0) return null;
  return (
    <section id="privacy">
      <h2>Privacy incidents</h2>
      <ul class="worklist">
        {lines.map(({ question, name, openedAt }) => (
          <li>
            <div>
              <p class="sentence">{name}. A record stood under the wrong name.</p>
              <p class="since">Open since {dateTimeWords(openedAt, frame.zone)}</p>
            </div>
            <p class="next">
              <a class="button" href={`/clinic/identity/${question}#privacy`}>
                Say who was told
              </a>
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Whose({ lines, frame }: { lines: readonly WhoseLine[]; frame: ClinicFrame }) {
  if (lines.length === 0) return null;
  return (
    <section id="whose">
      <h2>Whose record is this?</h2>
      <ul class="worklist">
        {lines.map(({ id, kind, name, start }) => (
          <li>
            <div>
              <p class="sentence">
                {name}. {troubleWords[kind]}.
              </p>
              <p class="since">Since {dateTimeWords(start, frame.zone)}</p>
            </div>
            <p class="next">
              <a class="button" href={`/clinic/identity/${id}`}>
                Ask and answer
              </a>
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Row({ entry, frame }: { entry: WorklistEntry; frame: ClinicFrame }) {
  const [first, ...more] = entry.questions;
  const last = more.at(-1) ?? first;
  const step = first.verdict.outcome === "not-settled" ? last.verdict.settle.find(isWorthDoing) : undefined;
  return (
    <li>
      <div>
        <p class="sentence">
          <a href={asKnown(frame.knownOn, `/clinic/people/${first.borrower}`)}>{first.name}</a>.{" "}
          {finding(entry)}
        </p>
        <p class="since">
          {more.length === 0 ? "Since" : "First"} {dateTimeWords(first.start, frame.zone)}
          {more.length === 0 ? "" : `, last ${dateTimeWords(last.start, frame.zone)}`}
        </p>
      </div>
      <p class="next">
        <a class="button" href={asKnown(frame.knownOn, `/clinic/gaps/${last.id}`)}>
          {step ? (nextStepWords[step.test] ?? "See what would settle it") : "Read why"}
        </a>
      </p>
    </li>
  );
}

/** The verdict's own sentence, or for several one that counts them. */
function finding({ questions, lasted }: WorklistEntry): string {
  const [first, ...more] = questions;
  if (more.length === 0) return first.verdict.sentence;
  const last = more.at(-1) ?? first;
  const what = first.kind === "gap" ? "gaps in the record" : "stretches seated with no relief recorded";
  const certainty = `for the latest, ${spokenCertainty(last.verdict.probability, last.verdict.outcome !== "not-settled")}`;
  const cause = last.verdict.causes[0]?.words ?? "";
  const told =
    last.verdict.outcome === "not-settled"
      ? `${certainty}; it may be that ${cause}`
      : `${certainty}: ${cause}`;
  return `${questions.length} ${what}, ${durationWords(lasted)} together: ${told}.`;
}

function Together({ questions, frame }: { questions: readonly OpenQuestion[]; frame: ClinicFrame }) {
  const [first] = questions;
  if (!first) return null;
  const names = new Set(questions.map(({ borrower }) => borrower)).size;
  return (
    <section class="told">
      <h2>Quiet with many others</h2>
      <p>
        {names === 1 ? "One of your people" : `${names} of your people`} went quiet with many others,{" "}
        {questions.length === 1 ? "once" : `${questions.length} times in all`}, first on{" "}
        {dateTimeWords(first.start, frame.zone)}. That has a shared cause on our side or in the network:
        nobody needs to be asked about it.
        {questions.every(({ filled }) => filled) ? " All of it came in later: nothing is missing." : ""}
      </p>
      <details>
        <summary>Whose records</summary>
        <ul>
          {questions.map(({ id, name, start }) => (
            <li>
              <a href={asKnown(frame.knownOn, `/clinic/gaps/${id}`)}>
                {name}, {dateTimeWords(start, frame.zone)}
              </a>
            </li>
          ))}
        </ul>
      </details>
    </section>
  );
}
