import {
  conclusions,
  conclusionWords,
  parts,
  partWords,
  problems as problemCodes,
  problemWords,
  seen,
  seenWords,
} from "../../server/domain/bench/coding.ts";
import { outcomeWords } from "../../server/domain/bench/session.ts";
import { Choices, Field, typedList, typedText } from "../layout/forms.tsx";
import { SeenFields, type SessionPageProps } from "./bench-session-props.tsx";

/** The end: what the readings allow, and what was reported, seen, concluded and changed, each by itself. */
export function BenchFinishPart(props: SessionPageProps) {
  const { frame, session, choices, problems, typed } = props;
  const open = choices.filter(({ against }) => against.length === 0);
  return (
    <section id="finish" class="stack">
      <h2>Finish</h2>
      <ul class="story">
        {choices.map(({ outcome, against }) => (
          <li>
            <strong>{outcomeWords[outcome]}</strong>:{" "}
            {against.length === 0 ? "may be chosen." : against.join(" ")}
          </li>
        ))}
      </ul>
      <details open={problems !== undefined || open.length > 2}>
        <summary>Write down the outcome</summary>
        <form class="form" method="post" action={`/bench/sessions/${session.id}/finish`}>
          <SeenFields frame={frame} session={session} />
          <Choices
            legend="Outcome"
            name="outcome"
            kind="radio"
            hint="A pass moves the unit into stock with a certificate; repair leaves it here; nothing comes back from retired."
            chosen={typedList(typed, "outcome")}
            error={problems?.outcome}
            choices={open.map(({ outcome }) => ({ value: outcome, words: outcomeWords[outcome] }))}
          />
          <Field
            label="Problem: what was reported"
            name="problem"
            value={typedText(typed, "problem") || "routine-check"}
            choices={problemCodes.map((value) => ({ value, words: problemWords[value] }))}
          />
          <Field
            label="Finding: what was seen"
            name="seen"
            value={typedText(typed, "seen")}
            choices={seen.map((value) => ({ value, words: seenWords[value] }))}
          />
          <Field
            label="Conclusion: the cause"
            name="conclusion"
            hint="“No fault found” and “cause not established” are honest answers."
            value={typedText(typed, "conclusion")}
            choices={conclusions.map((value) => ({ value, words: conclusionWords[value] }))}
          />
          <Choices
            legend="Parts that were changed"
            name="part"
            kind="checkbox"
            hint="Leave all open where none was."
            chosen={typedList(typed, "part")}
            choices={parts.map((value) => ({ value, words: partWords[value] }))}
          />
          <Field
            label="Serial or lot of what was put in"
            name="fitted"
            required={false}
            value={typedText(typed, "fitted")}
          />
          <Field
            label="Note"
            name="note"
            hint="About the unit, never about a person."
            rows={2}
            required={false}
            value={typedText(typed, "note")}
          />
          <button type="submit">Finish the session</button>
        </form>
      </details>
      <form method="post" action={`/bench/sessions/${session.id}/abandon`}>
        <SeenFields frame={frame} session={session} />
        <button type="submit" class="grave">
          End it without an outcome
        </button>
      </form>
    </section>
  );
}
