import { type CommandLine, openStates } from "../../server/domain/commands/command.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { catalogue } from "../../server/domain/verdicts/causes.ts";
import type { HarmTable } from "../../server/domain/verdicts/harm.ts";
import { spokenCertainty } from "../../server/domain/verdicts/spoken.ts";
import { type HeldVerdict, type Side, sides, type Verdict } from "../../server/domain/verdicts/verdict.ts";
import { Caution } from "../layout/caution.tsx";
import { Problems as ProblemList, type Problems, type Typed } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords, dayWords } from "../layout/words.ts";
import { EvidencePart } from "./evidence-part.tsx";
import type { ClinicFrame } from "./frame.ts";
import { HarmPart } from "./harm-part.tsx";
import { LearnedForm, LearnedList, type LearnedShown } from "./learned-part.tsx";
import type { TestRequestLine } from "./next-test.tsx";
import { NextTest } from "./next-test.tsx";
import { SettlePart } from "./settle-part.tsx";
import { shareWords } from "./share-words.ts";
import { sideMeanings, sideNames } from "./side-words.ts";

export interface DayBounds {
  readonly day: LocalDay;
  readonly met: number;
  readonly missed: number;
  readonly notAssessable: number;
  readonly share: { readonly low: number; readonly seen: number | null; readonly high: number } | null;
}

interface GapPageProps {
  readonly frame: ClinicFrame;
  readonly person: { readonly id: string; readonly name: string };
  readonly stretch: { readonly id: string; readonly kind: "gap" | "thin"; readonly title: string };
  readonly unit: string;
  /** The page tells what was known at the end of this day. null: what is known now. */
  readonly knownOn: LocalDay | null;
  /** null: not judged yet. */
  readonly verdict: Verdict | null;
  /** Newest first, the current one included. */
  readonly history: readonly HeldVerdict[];
  /** null: the figures of then are not kept. */
  readonly bounds: readonly DayBounds[] | null;
  readonly learned: readonly LearnedShown[];
  readonly harm: HarmTable;
  readonly requests: readonly TestRequestLine[];
  /** The incident that tells of this gap, while it is held. */
  readonly incident: string | null;
  /** The last picture of the grid that was asked for since the stretch began. */
  readonly frameAsked: CommandLine | null;
  readonly told: string | null;
  readonly form?: { readonly problems: Problems; readonly typed: Typed };
}

export function GapPage(props: GapPageProps) {
  const { frame, person, stretch, verdict, form } = props;
  return (
    <Page {...frame} title={`${stretch.title}, ${person.name}`}>
      <p class="lead">
        <a href="/clinic">Clinic</a> · <a href={`/clinic/people/${person.id}`}>{person.name}</a> · unit{" "}
        {props.unit}
      </p>
      <h1>{stretch.title}</h1>
      {props.told === null ? null : (
        <p class="told" role="status">
          {props.told}
        </p>
      )}
      <ProblemList errors={form?.problems} />
      {props.knownOn === null ? null : (
        <p class="notice" role="note">
          As known at the end of {dayWords(props.knownOn)}: what arrived or was written later is left out.{" "}
          <a href={`/clinic/gaps/${stretch.id}`}>As known now</a>
        </p>
      )}
      {props.incident === null ? null : (
        <p class="told" role="note">
          This gap is held: the unit fell silent with many others, and nobody is asked about it by themselves.{" "}
          <a href={`/incidents/${props.incident}`}>See the incident</a>. It is judged again when that is over.
        </p>
      )}
      <LiveRegion
        id="gap-verdict"
        topics={isAsked(props) ? [`stretch:${stretch.id}`, `unit:${props.unit}`] : [`stretch:${stretch.id}`]}
        url={`/clinic/gaps/${stretch.id}${props.knownOn === null ? "" : `?known=${props.knownOn}`}`}
      >
        {verdict === null ? (
          <p class="empty">
            {props.knownOn === null
              ? "This stretch has not been judged yet. The verdict appears here by itself."
              : "This stretch had not been judged by then."}
          </p>
        ) : (
          <VerdictPart {...props} verdict={verdict} />
        )}
        <LearnedList learned={props.learned} frame={frame} />
      </LiveRegion>
      {props.knownOn === null ? (
        <LearnedForm
          frame={frame}
          causes={catalogue(stretch.kind)}
          stretch={stretch.id}
          problems={form?.problems}
          typed={form?.typed}
        />
      ) : null}
    </Page>
  );
}

/** While an answer is awaited the page follows the unit too. */
const isAsked = ({ frameAsked }: GapPageProps): boolean =>
  frameAsked !== null && openStates.some((state) => state === frameAsked.state);

function VerdictPart(props: GapPageProps & { readonly verdict: Verdict }) {
  const { verdict, stretch, frame } = props;
  return (
    <>
      <p class="verdict-sentence" aria-live="polite">
        {verdict.sentence}
      </p>
      <Caution>{stretch.kind === "gap" ? gapCaution : thinCaution}</Caution>
      <Shares verdict={verdict} />
      <HarmPart verdict={verdict} table={props.harm} />
      <EvidencePart verdict={verdict} />
      <SettlePart tests={verdict.settle} settled={verdict.outcome !== "not-settled"}>
        {props.knownOn === null ? <NextTest {...props} verdict={verdict} /> : null}
      </SettlePart>
      {props.bounds === null ? null : <Bounds days={props.bounds} />}
      <History stretch={stretch.id} history={props.history} frame={frame} />
    </>
  );
}

const gapCaution =
  "A gap says nothing about whether reliefs were done. Keep to the skin-check plan; local policy and licensed practice decide.";
const thinCaution =
  "Few reliefs recorded is not the same as few reliefs made, and it is common in good data. Send no message about it while a cause in the unit is open. Keep to the skin-check plan; local policy and licensed practice decide.";

const percent = (share: number): string =>
  share > 0.99 ? "over 99\u00a0%" : share < 0.01 ? "under 1\u00a0%" : `${Math.round(share * 100)}\u00a0%`;

function Shares({ verdict }: { verdict: Verdict }) {
  const causesOf = (side: Side) =>
    verdict.causes
      .filter((cause) => cause.side === side && cause.probability >= 0.03)
      .map(({ words, probability }) => `${words} (${percent(probability)})`)
      .join("; ");
  const ranked = [...sides].sort((a, b) => verdict.sides[b] - verdict.sides[a]);
  return (
    <section id="sides">
      <h2>Whose side, and how sure</h2>
      <p>{flip(verdict)}</p>
      <div class="wide">
        <table class="ledger stacks">
          <caption>Probability of each side, and the causes behind it</caption>
          <thead>
            <tr>
              <th scope="col">Side</th>
              <th scope="col" class="number">
                Probability
              </th>
              <th scope="col">Causes still likely</th>
            </tr>
          </thead>
          <tbody>
            {ranked.map((side) => (
              <tr>
                <th scope="row">
                  {sideNames[side]}
                  <div class="since">{sideMeanings[side]}</div>
                </th>
                <td class="number" data-label="Probability">
                  {percent(verdict.sides[side])}
                </td>
                <td data-label="Causes still likely">{causesOf(side) || "none above 3 %"}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

/** What it would take to change the answer, in decibans of further evidence. */
function flip({ outcome, leadingSide, probability, threshold }: Verdict): string {
  const decibans = (share: number) => 10 * Math.log10(share / Math.max(1e-6, 1 - share));
  const away = Math.abs(decibans(probability) - decibans(threshold)).toFixed(1);
  const side = sideNames[leadingSide].toLowerCase();
  return outcome === "not-settled"
    ? `${sideNames[leadingSide]} leads, but it takes ${percent(threshold)} to call it settled: ${away} decibans of evidence short.`
    : `It takes ${percent(threshold)} to call ${side} settled. Evidence of ${away} decibans against it would open the question again.`;
}

function Bounds({ days }: { days: readonly DayBounds[] }) {
  return (
    <section id="bounds">
      <h2>What it leaves open about reliefs</h2>
      {days.length === 0 ? (
        <p class="empty">The days concerned are not in the ledger yet.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>
              The day or days concerned. Low: as if none of the unseen reliefs was made. High: as if all were.
              The truth lies between, whatever happened.
            </caption>
            <thead>
              <tr>
                <th scope="col">Day</th>
                <th scope="col" class="number">
                  Due and met
                </th>
                <th scope="col" class="number">
                  Due, none seen
                </th>
                <th scope="col" class="number">
                  Can't be told
                </th>
                <th scope="col">Share met</th>
              </tr>
            </thead>
            <tbody>
              {days.map((day) => (
                <tr>
                  <th scope="row">{dayWords(day.day)}</th>
                  <td class="number" data-label="Due and met">
                    {day.met}
                  </td>
                  <td class="number" data-label="Due, none seen">
                    {day.missed}
                  </td>
                  <td class="number" data-label="Can't be told">
                    {day.notAssessable}
                  </td>
                  <td data-label="Share met">{shareWords(day.share)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

interface HistoryProps {
  readonly stretch: string;
  readonly history: readonly HeldVerdict[];
  readonly frame: ClinicFrame;
}

function History({ stretch, history, frame }: HistoryProps) {
  const earlier = history.filter(({ supersededAt }) => supersededAt !== null);
  const current = history.find(({ supersededAt }) => supersededAt === null);
  return (
    <section id="history">
      <h2>What was held before</h2>
      <form method="get" action={`/clinic/gaps/${stretch}`} class="screen-only">
        <label for="known-on">This page as known at the end of</label>{" "}
        <input id="known-on" name="known" type="date" required /> <button type="submit">Show</button>
      </form>
      {current === undefined ? null : (
        <p>Held since {dateTimeWords(current.computedAt, frame.zone)}: the above.</p>
      )}
      {earlier.length === 0 ? (
        <p class="lead">Nothing else has been held of this stretch.</p>
      ) : (
        <ul class="history">
          {earlier.map(({ verdict, computedAt, supersededAt }) => (
            <li>
              From {dateTimeWords(computedAt, frame.zone)} until{" "}
              {supersededAt === null ? "now" : dateTimeWords(supersededAt, frame.zone)} we held:{" "}
              {spokenCertainty(verdict.probability, verdict.outcome !== "not-settled")},{" "}
              {sideNames[verdict.leadingSide].toLowerCase()}. “{verdict.sentence}”
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
