import type { IdentityTroubleKind } from "../../server/domain/identity-trouble/identity-trouble.ts";
import { type Lay, lays } from "../../server/domain/identity-trouble/lay.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import {
  Choices,
  CsrfField,
  Field,
  Problems as ProblemList,
  type Problems,
  type Typed,
  typedList,
  typedText,
} from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { layNames, layShown, troubleAsk, troubleWords } from "./identity-words.ts";

export interface MovedShown {
  readonly unit: string;
  /** "nobody" or the loan it is filed under. */
  readonly to: string;
  /** How the cushion lay, where the record is read as the person sat. */
  readonly lay: Lay | null;
  readonly start: Instant;
  readonly end: Instant;
  readonly doneAt: Instant;
  readonly undoneAt: Instant | null;
}

interface IdentityPageProps {
  readonly frame: ClinicFrame;
  readonly person: { readonly id: string; readonly name: string };
  readonly unit: string;
  readonly question: {
    readonly id: string;
    readonly kind: IdentityTroubleKind;
    readonly start: Instant;
    readonly end: Instant | null;
    readonly evidence: readonly string[];
    readonly answer: "confirmed" | "rejected" | "withdrawn" | null;
    readonly reason: string | null;
    readonly answeredAt: Instant | null;
  };
  /** Whose the loan is that it changed places with: null: not known. */
  readonly other: "own" | "colleague" | "agreed" | null;
  readonly privacy: {
    readonly openedAt: Instant;
    readonly outcome: string | null;
    readonly closedAt: Instant | null;
  } | null;
  readonly moved: readonly MovedShown[];
  readonly told: string | null;
  readonly typed: Typed;
  readonly problems?: Problems;
}

const answerWords = {
  confirmed: "Confirmed",
  rejected: "Rejected",
  withdrawn: "Nobody needs to be asked any more. Withdrawn",
} as const;

/** Whose record is this? The console asks, a person answers, and nothing is moved before that. */
export function IdentityPage(props: IdentityPageProps) {
  const { frame, person, question, moved } = props;
  const { zone } = frame;
  return (
    <Page {...frame} title={`Whose record, ${person.name}`}>
      <p class="lead">
        <a href="/clinic">Clinic</a> · <a href={`/clinic/people/${person.id}`}>{person.name}</a> · unit{" "}
        {props.unit}
      </p>
      <h1>{question.kind === "turned" ? "Which way did it lie?" : "Whose record is this?"}</h1>
      {props.told === null ? null : (
        <p class="told" role="status">
          {props.told}
        </p>
      )}
      <ProblemList errors={props.problems} />
      <p class="verdict-sentence">
        {troubleWords[question.kind]}, from {dateTimeWords(question.start, zone)}
        {question.end === null ? "" : ` to ${dateTimeWords(question.end, zone)}`}.
      </p>
      <ul class="history">
        {question.evidence.map((sentence) => (
          <li>{sentence}</li>
        ))}
      </ul>
      <Caution>
        Weight, posture, clothes or a new chair can look like this. Ask before anything is changed, and let no
        count of these days guide care until it is answered.
      </Caution>
      {question.answer === "withdrawn" ? null : (
        <>
          <h2>What to ask</h2>
          <blockquote class="wording">{troubleAsk[question.kind]}</blockquote>
        </>
      )}
      {question.answer === null ? (
        <AnswerForm {...props} />
      ) : (
        <p>
          {answerWords[question.answer]}
          {question.answeredAt === null ? "" : ` on ${dateTimeWords(question.answeredAt, zone)}`}:{" "}
          {question.reason}
        </p>
      )}
      <Moved {...props} moved={moved} />
      <Privacy {...props} />
    </Page>
  );
}

const otherWords = {
  own: "changes places with the other loan's",
  colleague: "is nobody's here, and a colleague is asked about the other loan, which is of their person",
  agreed: "changes places with the other loan's: a colleague has confirmed their part",
} as const;

function AnswerForm({ frame, question, other, typed, problems }: IdentityPageProps) {
  return (
    <section class="screen-only" id="answer">
      <h2>Answer it</h2>
      <form class="form" method="post" action={`/clinic/identity/${question.id}`}>
        <CsrfField signedIn={frame.signedIn} />
        <Choices
          legend="Is it so?"
          name="answer"
          kind="radio"
          chosen={typedList(typed, "answer")}
          error={problems?.answer}
          choices={[
            { value: "confirmed", words: "Yes, it is so" },
            {
              value: "rejected",
              words:
                question.kind === "turned" ? "No, it lay as it should" : "No, the record is this person's",
            },
          ]}
        />
        <Field
          label="How you know"
          name="reason"
          rows={2}
          hint="Who was asked, what was seen."
          value={typedText(typed, "reason")}
          error={problems?.reason}
        />
        <Field
          label="If it is so, the record of this time"
          name="record"
          hint="What was recorded stays as it is; only where it is filed changes, and that can be undone."
          value={typedText(typed, "record")}
          error={problems?.record}
          choices={[
            { value: "keep", words: "stays this person's" },
            { value: "nobody", words: "is nobody's: it counts as not known" },
            ...(other === null ? [] : [{ value: "other", words: otherWords[other] }]),
            ...(question.kind === "turned" ? lays : []).map((lay) => ({
              value: lay,
              words: layNames[lay],
            })),
          ]}
        />
        <div class="pair">
          <Field
            label="From"
            name="from"
            type="datetime-local"
            value={typedText(typed, "from")}
            error={problems?.from}
          />
          <Field
            label="Until"
            name="until"
            type="datetime-local"
            hint={
              question.kind === "turned"
                ? "When it was put right. If it still lies so, have that done first."
                : undefined
            }
            value={typedText(typed, "until")}
            error={problems?.until}
          />
        </div>
        <button type="submit">Keep this answer</button>
      </form>
    </section>
  );
}

function Moved({ frame, question, moved }: IdentityPageProps) {
  if (moved.length === 0) return null;
  return (
    <section id="moved">
      <h2>{moved.every(({ lay }) => lay !== null) ? "Read otherwise" : "Filed elsewhere"}</h2>
      <ul class="history">
        {moved.map(({ unit, to, lay, start, end, doneAt, undoneAt }) => (
          <li>
            What {unit} recorded from {dateTimeWords(start, frame.zone)} to {dateTimeWords(end, frame.zone)}{" "}
            {lay === null ? `is filed under ${to}` : `is read as the person sat (${layShown[lay]})`} since{" "}
            {dateTimeWords(doneAt, frame.zone)}
            {undoneAt === null ? "" : `; undone on ${dateTimeWords(undoneAt, frame.zone)}`}.
          </li>
        ))}
      </ul>
      {moved.some(({ undoneAt }) => undoneAt === null) ? (
        <form method="post" action={`/clinic/identity/${question.id}/undo`} class="screen-only">
          <CsrfField signedIn={frame.signedIn} />
          <button type="submit" class="quiet">
            Undo: file it as it was
          </button>
        </form>
      ) : null}
    </section>
  );
}

function Privacy({ frame, question, privacy, typed, problems }: IdentityPageProps) {
  if (privacy === null) return null;
  return (
    <section id="privacy">
      <h2>Privacy incident</h2>
      <p>Opened on {dateTimeWords(privacy.openedAt, frame.zone)}: a record stood under the wrong name.</p>
      {privacy.closedAt === null ? (
        <form class="form" method="post" action={`/clinic/identity/${question.id}/privacy`}>
          <CsrfField signedIn={frame.signedIn} />
          <Field
            label="Who was told, and what was decided"
            name="outcome"
            rows={2}
            hint="As local policy says. Name roles, not people outside the programme."
            value={typedText(typed, "outcome")}
            error={problems?.outcome}
          />
          <button type="submit">Close it</button>
        </form>
      ) : (
        <p>
          Closed on {dateTimeWords(privacy.closedAt, frame.zone)}: {privacy.outcome}
        </p>
      )}
    </section>
  );
}
