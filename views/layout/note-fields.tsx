import { type LoanNoteKind, loanNoteWords } from "../../server/domain/lifecycle/loan-note.ts";
import { Field, type Problems, type Typed, typedText } from "./forms.tsx";

interface NoteFieldsProps {
  readonly kinds: readonly LoanNoteKind[];
  /** The name of the field of its beginning, and what is meant by leaving that blank; null: it may not be. */
  readonly from: { readonly name: string; readonly blank: string | null };
  readonly textHint: string;
  readonly problems?: Problems | undefined;
  readonly typed?: Typed | undefined;
}

/** The fields of a note on a loan's time, the same at every desk. */
export function NoteFields({ kinds, from, textHint, problems, typed }: NoteFieldsProps) {
  return (
    <>
      <Field
        label="What it is about"
        name="kind"
        value={typedText(typed, "kind") || "call"}
        error={problems?.kind}
        choices={kinds.map((kind) => ({ value: kind, words: loanNoteWords[kind] }))}
      />
      <div class="pair">
        <Field
          label="From"
          name={from.name}
          type="datetime-local"
          required={from.blank === null}
          hint={from.blank ?? undefined}
          value={typedText(typed, from.name)}
          error={problems?.[from.name]}
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
        hint={textHint}
        value={typedText(typed, "text")}
        error={problems?.text}
      />
    </>
  );
}
