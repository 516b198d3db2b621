import type { PropsWithChildren } from "hono/jsx";

/** One sentence for each field that could not be accepted; `form` holds what concerns the whole. */
export type Problems = Readonly<Record<string, string>>;
/** What was typed, to be shown again: a mistake in one field loses nothing else. */
export type Typed = Readonly<Record<string, string | readonly string[]>>;

export const typedText = (typed: Typed | undefined, name: string): string => {
  const value = typed?.[name];
  return typeof value === "string" ? value : (value?.[0] ?? "");
};

export const typedList = (typed: Typed | undefined, name: string): readonly string[] => {
  const value = typed?.[name];
  return value === undefined ? [] : typeof value === "string" ? [value] : value;
};

/** Every form that posts carries this. */
export function CsrfField({ signedIn }: { signedIn: { readonly csrfToken: string } }) {
  return <input type="hidden" name="csrf" value={signedIn.csrfToken} />;
}

/** What stands above a form that came back: how many things, and a link to each. */
export function Problems({ errors }: { errors: Problems | undefined }) {
  const entries = Object.entries(errors ?? {});
  if (entries.length === 0) return null;
  return (
    <div class="problems" role="alert" id="problems">
      <p>
        <strong>Nothing was saved yet, and nothing you typed was lost.</strong>
      </p>
      <ul>
        {entries.map(([field, sentence]) => (
          <li>{field === "form" ? sentence : <a href={`#field-${field}`}>{sentence}</a>}</li>
        ))}
      </ul>
    </div>
  );
}

interface FieldProps {
  readonly label: string;
  readonly name: string;
  readonly hint?: string | undefined;
  readonly error?: string | undefined;
  readonly type?: "text" | "number" | "date" | "datetime-local" | "password" | "email" | "tel" | "search";
  readonly value?: string | number | undefined;
  readonly required?: boolean;
  readonly autocomplete?: string;
  readonly inputmode?: "text" | "numeric" | "decimal" | "tel";
  readonly min?: string | number;
  readonly max?: string | number;
  readonly step?: string | number;
  readonly rows?: number;
  /** Where two forms of a page ask for the same: keeps their ids apart. */
  readonly idSuffix?: string;
  /** After the box: `kg`, `min`. */
  readonly unit?: string;
  /** Offered instead of free text. */
  readonly choices?: readonly { readonly value: string; readonly words: string }[];
}

/** A labelled field with its hint and its problem tied to it for a screen reader. Give `choices` for a list, `rows`
 *  for a longer text. */
export function Field(props: FieldProps) {
  const { label, hint, error, unit } = props;
  const name = idOf(props);
  return (
    <div class={error === undefined ? "field" : "field field-wrong"}>
      <label for={`field-${name}`}>
        {label}
        {props.required === false ? <span class="optional"> (optional)</span> : null}
      </label>
      {hint === undefined ? null : (
        <p class="hint" id={`hint-${name}`}>
          {hint}
        </p>
      )}
      {error === undefined ? null : (
        <p class="field-problem" id={`problem-${name}`}>
          <span aria-hidden="true">✎ </span>
          {error}
        </p>
      )}
      <div class="box">
        <Box {...props} />
        {unit === undefined ? null : <span class="unit">{unit}</span>}
      </div>
    </div>
  );
}

const idOf = ({ name, idSuffix = "" }: FieldProps): string =>
  idSuffix === "" ? name : `${name}-${idSuffix}`;

function Box(props: FieldProps) {
  const { name, hint, error, choices, rows } = props;
  const id = idOf(props);
  const described = [hint === undefined ? "" : `hint-${id}`, error === undefined ? "" : `problem-${id}`]
    .filter((id) => id !== "")
    .join(" ");
  const shared = {
    id: `field-${id}`,
    name,
    required: props.required !== false,
    "aria-describedby": described === "" ? undefined : described,
    "aria-invalid": error === undefined ? undefined : "true",
  };
  const value = props.value === undefined ? "" : String(props.value);
  if (choices) {
    return (
      <select {...shared}>
        {choices.map((choice) => (
          <option value={choice.value} selected={choice.value === value}>
            {choice.words}
          </option>
        ))}
      </select>
    );
  }
  if (rows !== undefined) {
    return (
      <textarea {...shared} rows={rows}>
        {value}
      </textarea>
    );
  }
  return (
    <input
      {...shared}
      type={props.type ?? "text"}
      value={value}
      autocomplete={props.autocomplete ?? "off"}
      inputmode={props.inputmode}
      min={props.min}
      max={props.max}
      step={props.step}
    />
  );
}

/** Choices of which any number may hold, or one: a legend that names the question, and a label for each. */
export function Choices(
  props: PropsWithChildren<{
    readonly legend: string;
    readonly name: string;
    readonly kind: "checkbox" | "radio";
    readonly hint?: string;
    readonly error?: string | undefined;
    readonly chosen: readonly string[];
    readonly choices: readonly { readonly value: string; readonly words: string }[];
  }>,
) {
  return (
    <fieldset class={props.error === undefined ? "field" : "field field-wrong"} id={`field-${props.name}`}>
      <legend>{props.legend}</legend>
      {props.hint === undefined ? null : <p class="hint">{props.hint}</p>}
      {props.error === undefined ? null : (
        <p class="field-problem">
          <span aria-hidden="true">✎ </span>
          {props.error}
        </p>
      )}
      {props.choices.map((choice) => (
        <label class="choice">
          <input
            type={props.kind}
            name={props.name}
            value={choice.value}
            checked={props.chosen.includes(choice.value)}
          />
          <span>{choice.words}</span>
        </label>
      ))}
    </fieldset>
  );
}
