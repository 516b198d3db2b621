import type { Instant } from "../../server/domain/units.ts";
import type { Cause } from "../../server/domain/verdicts/causes.ts";
import { type Side, sides } from "../../server/domain/verdicts/verdict.ts";
import {
  Choices,
  CsrfField,
  Field,
  type Problems,
  type Typed,
  typedList,
  typedText,
} from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { sideMeanings, sideNames } from "./side-words.ts";

export interface LearnedShown {
  readonly agrees: boolean;
  readonly side: Side | null;
  readonly text: string;
  readonly writtenAt: Instant;
  readonly writerName: string;
}

export function LearnedList({ learned, frame }: { learned: readonly LearnedShown[]; frame: ClinicFrame }) {
  return (
    <section id="learned">
      <h2>What was learned</h2>
      {learned.length === 0 ? (
        <p class="empty">Nobody has written down yet what it turned out to be.</p>
      ) : (
        <ul class="history">
          {learned.map((one) => (
            <li>
              <strong>{one.agrees ? "Agrees with the verdict" : "Disagrees with the verdict"}</strong>
              {one.side === null ? "" : `, ${sideNames[one.side].toLowerCase()}`}: {one.text}{" "}
              <span class="since">
                ({one.writerName}, {dateTimeWords(one.writtenAt, frame.zone)})
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

interface LearnedFormProps {
  readonly frame: ClinicFrame;
  readonly causes: readonly Cause[];
  readonly stretch: string;
  readonly problems?: Problems | undefined;
  readonly typed?: Typed | undefined;
}

export function LearnedForm({ frame, causes, stretch, problems, typed }: LearnedFormProps) {
  return (
    <section class="screen-only" id="write">
      <h2>Write down what you learned</h2>
      <p class="lead">It stays as you write it. A later computation never changes it; both are shown.</p>
      <form class="form" method="post" action={`/clinic/gaps/${stretch}/learned`}>
        <CsrfField signedIn={frame.signedIn} />
        <Choices
          legend="Does it fit the verdict?"
          name="agrees"
          kind="radio"
          chosen={typedList(typed, "agrees")}
          error={problems?.agrees}
          choices={[
            { value: "yes", words: "Yes, I agree" },
            { value: "no", words: "No, I disagree" },
          ]}
        />
        <Field
          label="Whose side it turned out to be"
          name="side"
          required={false}
          value={typedText(typed, "side")}
          error={problems?.side}
          choices={[
            { value: "", words: "Not known" },
            ...sides.map((side) => ({ value: side, words: `${sideNames[side]}: ${sideMeanings[side]}` })),
          ]}
        />
        <Field
          label="What made it so"
          name="cause"
          required={false}
          hint="Only what somebody found out: where verdicts start from is learned from it. A guess is better left out."
          value={typedText(typed, "cause")}
          error={problems?.cause}
          choices={[
            { value: "", words: "Not known" },
            ...causes.map(({ id, side, words }) => ({ value: id, words: `${sideNames[side]}: ${words}` })),
          ]}
        />
        <Field
          label="What you learned, or why you disagree"
          name="text"
          rows={3}
          value={typedText(typed, "text")}
          error={problems?.text}
        />
        <button type="submit">Keep this</button>
      </form>
    </section>
  );
}
