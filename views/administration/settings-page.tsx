import type { SettingDefinition, SettingName } from "../../server/domain/settings.ts";
import { CsrfField, Field, Problems, type Problems as Wrong } from "../layout/forms.tsx";
import { Page, type PageProps, type Reader } from "../layout/page.tsx";

export interface SettingLine {
  readonly name: SettingName;
  readonly definition: SettingDefinition;
  /** As typed, when the form came back. */
  readonly value: string;
}

interface SettingsProps {
  readonly frame: Omit<PageProps, "title"> & { readonly signedIn: Reader };
  readonly lines: readonly SettingLine[];
  readonly told?: string;
  readonly problems?: Wrong;
}

/** Every assumption the console acts on, with where it comes from. */
export function SettingsPage({ frame, lines, told, problems }: SettingsProps) {
  return (
    <Page title="Assumptions" path="/settings" {...frame}>
      <h1>Assumptions</h1>
      <p class="lead">
        What the console takes as given, where each comes from, and how far it may be moved. Change one with
        whoever answers for the programme’s practice: it alters what is listed and what is called settled.
      </p>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <form method="post" action="/settings" class="form">
        <Problems errors={problems} />
        <CsrfField signedIn={frame.signedIn} />
        {lines.map(({ name, definition, value }) => (
          <Field
            label={definition.meaning}
            name={name}
            type="number"
            inputmode="decimal"
            min={definition.low}
            max={definition.high}
            step="any"
            unit={definition.unit}
            value={value}
            hint={`${rangeWords(definition)} ${definition.origin}.`}
            error={problems?.[name]}
          />
        ))}
        <button type="submit">Put these in force</button>
      </form>
    </Page>
  );
}

const rangeWords = ({ low, high, unit, default: usual }: SettingDefinition): string =>
  `From ${low} to ${high} ${unit}; unless changed, ${usual}. Origin:`;
