import { CsrfField, Field, Problems, type Typed, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";

interface ModelNewPageProps {
  readonly frame: StoresFrame;
  readonly problems?: Problems;
  readonly typed?: Typed;
}

export function ModelNewPage({ frame, problems, typed }: ModelNewPageProps) {
  const shown = (name: string) => ({ name, value: typedText(typed, name), error: problems?.[name] });
  return (
    <Page title="Add a model" {...frame}>
      <h1>Add a model</h1>
      <p class="lead">
        One make and size of cushion, from the maker’s data sheet. Each size is a model of its own.
      </p>
      <Problems errors={problems} />
      <form class="form" method="post" action="/stores/models/new">
        <CsrfField signedIn={frame.signedIn} />
        <Field
          label="Short name"
          hint="Small letters, digits and hyphens, such as calm-43."
          {...shown("id")}
        />
        <Field label="Name" {...shown("name")} />
        <Field label="Size as labelled" hint="Such as 43 × 43." {...shown("size")} />
        <div class="pair">
          <Field label="Width" unit="cm" inputmode="decimal" {...shown("width")} />
          <Field label="Depth" unit="cm" inputmode="decimal" {...shown("depth")} />
        </div>
        <Field label="Weight limit" unit="kg" inputmode="numeric" {...shown("weightLimit")} />
        <div class="pair">
          <Field label="Grid rows" inputmode="numeric" {...shown("rows")} />
          <Field label="Grid columns" inputmode="numeric" {...shown("columns")} />
        </div>
        <Field label="Grid pitch" unit="mm" inputmode="numeric" {...shown("pitch")} />
        <Field label="Rated battery capacity" unit="mAh" inputmode="numeric" {...shown("ratedCapacity")} />
        <button type="submit">Add the model</button>
      </form>
    </Page>
  );
}
