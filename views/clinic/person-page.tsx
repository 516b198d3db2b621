import type { ToldBySwap } from "../../server/domain/drift/after-swap.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import type { RibbonDay } from "../charts/day-ribbon-data.ts";
import { DayRibbons, rangeWords } from "../charts/day-ribbons.tsx";
import { Caution } from "../layout/caution.tsx";
import { Problems as ProblemList, type Problems, type Typed } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { swapWords } from "../layout/swap-words.ts";
import { dateTimeWords } from "../layout/words.ts";
import { AdherencePart, type AdherenceShown } from "./adherence-part.tsx";
import { ComparisonPart, type ComparisonShown } from "./comparison-part.tsx";
import { linesAddress } from "./figures.ts";
import type { ClinicFrame } from "./frame.ts";
import { asKnown, KnownOnForm, KnownOnNotice } from "./known-on.tsx";
import { type NoteShown, NotesPart } from "./notes-part.tsx";
import { PlanPart, type PlanShown } from "./plan-part.tsx";
import { QualityPart, type QualityShown } from "./quality-part.tsx";
import { TrendPart, type TrendShown } from "./trend-part.tsx";

export interface QuestionShown {
  readonly id: string;
  readonly sentence: string;
  /** Earlier ones with the same likely cause, newest first. */
  readonly more: readonly { readonly id: string; readonly sentence: string }[];
}

export interface LoanShown {
  readonly reference: string;
  readonly unitSerial: string;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
  readonly follows: boolean;
}

export interface PersonPageProps {
  readonly frame: ClinicFrame;
  readonly person: { readonly id: string; readonly name: string; readonly area: string };
  readonly state: string;
  readonly days: readonly RibbonDay[];
  readonly range: {
    readonly days: number;
    readonly first: LocalDay;
    readonly last: LocalDay;
    readonly newest: LocalDay;
    readonly choices: readonly { readonly days: number; readonly href: string }[];
  };
  readonly earlier: string | null;
  readonly later: string | null;
  readonly url: string;
  readonly questions: readonly QuestionShown[];
  readonly adherence: AdherenceShown;
  readonly trend: TrendShown;
  readonly comparison: ComparisonShown;
  readonly quality: readonly QualityShown[];
  /** A swap after the load had fallen; null: none that tells anything, or an earlier day is shown. */
  readonly swap: ToldBySwap | null;
  readonly plans: readonly PlanShown[];
  readonly loans: readonly LoanShown[];
  readonly notes: readonly NoteShown[];
  readonly canNote: boolean;
  readonly told: string | null;
  readonly form?: { readonly which: "plan" | "note"; readonly problems: Problems; readonly typed: Typed };
}

export function PersonPage(props: PersonPageProps) {
  const { frame, person, days, questions, form } = props;
  const of = (which: "plan" | "note") =>
    form?.which === which ? { problems: form.problems, typed: form.typed } : {};
  const address = linesAddress(person.id, props.range);
  const lines: typeof address = (figure, loan) => asKnown(frame.knownOn, address(figure, loan));
  return (
    <Page {...frame} title={person.name}>
      <p class="lead">
        <a href={asKnown(frame.knownOn, "/clinic")}>Clinic</a> · {person.area}
      </p>
      <h1>{person.name}</h1>
      <KnownOnNotice frame={frame} href={props.url} />
      {props.told === null ? null : (
        <p class="told" role="status">
          {props.told}
        </p>
      )}
      <ProblemList errors={form?.problems} />
      <LiveRegion id="person-record" topics={[`person:${person.id}`]} url={asKnown(frame.knownOn, props.url)}>
        <p class="sentence">{props.state}</p>
        <section>
          <h2>Day by day, {rangeWords(days)}</h2>
          <Ranges {...props} />
          <DayRibbons days={days} zone={frame.zone} />
        </section>
        <Questions questions={questions} knownOn={frame.knownOn} />
        <AdherencePart shown={props.adherence} lines={lines} />
        <TrendPart shown={props.trend} />
        <ComparisonPart shown={props.comparison} frame={frame} path={`/clinic/people/${person.id}`} />
        <QualityPart units={props.quality} lines={lines} />
        {props.swap === null ? null : (
          <section id="swap">
            <h2>What the swap tells</h2>
            <p>{swapWords(props.swap, frame.zone)}</p>
          </section>
        )}
      </LiveRegion>
      <PlanPart frame={frame} person={person.id} plans={props.plans} {...of("plan")} />
      <NotesPart
        frame={frame}
        person={person.id}
        notes={props.notes}
        canWrite={props.canNote}
        {...of("note")}
      />
      <Loans loans={props.loans} frame={frame} />
      <Caution>
        Check the skin daily as taught. New redness, heat, a break or a fever: act on that, whatever the
        record says.
      </Caution>
    </Page>
  );
}

function Ranges(props: PersonPageProps) {
  const { range, frame, person } = props;
  const earlier = props.earlier === null ? null : asKnown(frame.knownOn, props.earlier);
  const later = props.later === null ? null : asKnown(frame.knownOn, props.later);
  const path = `/clinic/people/${person.id}`;
  return (
    <>
      <nav aria-label="Days shown" class="screen-only">
        <ul class="ranges">
          {earlier === null ? null : (
            <li>
              <a href={earlier}>Earlier</a>
            </li>
          )}
          {range.choices.map(({ days, href }) => (
            <li>
              <a href={asKnown(frame.knownOn, href)} aria-current={days === range.days ? "true" : undefined}>
                {days} days
              </a>
            </li>
          ))}
          {later === null ? null : (
            <li>
              <a href={later}>Later</a>
            </li>
          )}
        </ul>
      </nav>
      <details class="screen-only">
        <summary>Other days, or as known on an earlier day</summary>
        <form method="get" action={path}>
          {frame.knownOn === null ? null : <input type="hidden" name="asKnownOn" value={frame.knownOn} />}
          <label for="range-from">From</label>{" "}
          <input id="range-from" name="from" type="date" value={range.first} max={range.newest} required />{" "}
          <label for="range-to">to</label>{" "}
          <input id="range-to" name="to" type="date" value={range.last} max={range.newest} required />{" "}
          <button type="submit" class="quiet">
            Show these days
          </button>
        </form>
        <KnownOnForm frame={frame} href={path} keep={{ from: range.first, to: range.last }} />
      </details>
    </>
  );
}

function Questions(props: { questions: readonly QuestionShown[]; knownOn: LocalDay | null }) {
  const { questions, knownOn } = props;
  return (
    <section id="questions">
      <h2>What asks a question in these days</h2>
      {questions.length === 0 ? (
        <p class="empty">No gap and no thin stretch in these days.</p>
      ) : (
        <ul class="worklist">
          {questions.map(({ id, sentence, more }) => (
            <li>
              <div>
                <p class="sentence">{sentence}</p>
                {more.length === 0 ? null : (
                  <details>
                    <summary>{more.length === 1 ? "One more" : `${more.length} more`} like it</summary>
                    <ul class="history">
                      {more.map((other) => (
                        <li>
                          <a href={asKnown(knownOn, `/clinic/gaps/${other.id}`)}>{other.sentence}</a>
                        </li>
                      ))}
                    </ul>
                  </details>
                )}
              </div>
              <p class="next">
                <a class="button quiet" href={asKnown(knownOn, `/clinic/gaps/${id}`)}>
                  Read why
                </a>
              </p>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function Loans({ loans, frame }: { loans: readonly LoanShown[]; frame: ClinicFrame }) {
  return (
    <section id="loans">
      <h2>Units lent</h2>
      <ul class="history">
        {loans.map((loan) => (
          <li>
            {loan.unitSerial} on loan {loan.reference},{" "}
            {loan.startedAt === null
              ? "not started yet"
              : `from ${dateTimeWords(loan.startedAt, frame.zone)}`}
            {loan.endedAt === null ? "" : ` to ${dateTimeWords(loan.endedAt, frame.zone)}`}
            {loan.follows
              ? ". It took the place of another unit: compare before and after with care, they come from two sensors"
              : ""}
            .
          </li>
        ))}
      </ul>
    </section>
  );
}
