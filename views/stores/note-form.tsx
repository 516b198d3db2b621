import type { LoanNoteKind } from "../../server/domain/lifecycle/loan-note.ts";
import { CsrfField, type Problems, type Typed } from "../layout/forms.tsx";
import { NoteFields } from "../layout/note-fields.tsx";
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
        <NoteFields
          kinds={noteKinds}
          from={{ name: "from", blank: "Left blank: now." }}
          textHint="What was said, in neutral words. The clinician reads it too."
          problems={problems}
          typed={typed}
        />
        <button type="submit">Save the note</button>
      </form>
    </section>
  );
}
