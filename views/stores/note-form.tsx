import { type LoanNoteKind, loanNoteWords } from "../../server/domain/lifecycle/loan-note.ts";
import { CsrfField, Field, type Problems, type Typed, typedText } from "../layout/forms.tsx";
import type { StoresFrame } from "./frame.ts";

interface NoteFormProps {
  readonly frame: StoresFrame;
  readonly loan: { readonly id: string };
  readonly noteKinds: readonly LoanNoteKind[];
  readonly problems?: Problems;
  readonly typed?: Typed;
}

/** What is known of a loan's time. It helps to tell later whether a silence was the cushion or the person. */
export function NoteForm({ frame, loan, noteKinds, problems, typed }: NoteFormProps) {
  return (
    <section id="note" class="screen-only">
      <h2>Write a note</h2>
      <p class="lead">
        A stay in hospital, a holiday, a washed cover: it helps to tell later whether a silence was the
        cushion.
      </p>
      <form class="form" method="post" action={`/stores/loans/${loan.id}/notes`}>
        <CsrfField signedIn={frame.signedIn} />
        <Field
          label="What it is about"
          name="kind"
          value={typedText(typed, "kind") || "call"}
          error={problems?.kind}
          choices={noteKinds.map((kind) => ({ value: kind, words: loanNoteWords[kind] }))}
        />
        <div class="pair">
          <Field
            label="From"
            name="from"
            type="datetime-local"
            required={false}
            hint="Left blank: now."
            value={typedText(typed, "from")}
            error={problems?.from}
          />
          <Field
            label="Until"
            name="until"
            type="datetime-local"
            required={false}
            hint="Left blank: still so, or a moment."
            value={typedText(typed, "until")}
            error={problems?.until}
          />
        </div>
        <Field
          label="Note"
          name="text"
          rows={3}
          hint="What was said, in neutral words. The clinician reads it too."
          value={typedText(typed, "text")}
          error={problems?.text}
        />
        <button type="submit">Save the note</button>
      </form>
    </section>
  );
}
