import { type LoanNoteKind, loanNoteKinds, loanNoteWords } from "../../server/domain/lifecycle/loan-note.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, type Problems, type Typed } from "../layout/forms.tsx";
import { NoteFields } from "../layout/note-fields.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";

export interface NoteShown {
  readonly kind: LoanNoteKind;
  readonly fromAt: Instant;
  readonly untilAt: Instant | null;
  readonly text: string;
  readonly writerName: string;
}

interface NotesPartProps {
  readonly frame: ClinicFrame;
  readonly person: string;
  readonly canWrite: boolean;
  readonly notes: readonly NoteShown[];
  readonly problems?: Problems | undefined;
  readonly typed?: Typed | undefined;
}

export function NotesPart({ frame, person, notes, canWrite, problems, typed }: NotesPartProps) {
  return (
    <section id="notes">
      <h2>Notes</h2>
      {notes.length === 0 ? (
        <p class="empty">No note yet. A stay in hospital, a holiday or a washed cover explains many a gap.</p>
      ) : (
        <ul class="history">
          {notes.map((note) => (
            <li>
              <strong>{loanNoteWords[note.kind]}</strong>, from {dateTimeWords(note.fromAt, frame.zone)}
              {note.untilAt === null ? "" : ` to ${dateTimeWords(note.untilAt, frame.zone)}`}: {note.text}{" "}
              <span class="since">({note.writerName})</span>
            </li>
          ))}
        </ul>
      )}
      {canWrite ? (
        <details class="screen-only" open={problems !== undefined}>
          <summary>Write a note</summary>
          <form class="form" method="post" action={`/clinic/people/${person}/notes`}>
            <CsrfField signedIn={frame.signedIn} />
            <NoteFields
              kinds={loanNoteKinds}
              from={{ name: "noteFrom", blank: null }}
              textHint="In neutral words. The coordinator reads it too; gaps over this time are judged again with it."
              problems={problems}
              typed={typed}
            />
            <button type="submit">Save the note</button>
          </form>
        </details>
      ) : (
        <p class="lead">
          {frame.knownOn === null
            ? "No unit is on loan now, so there is no loan to write a note on."
            : "Notes written later are left out."}
        </p>
      )}
    </section>
  );
}
