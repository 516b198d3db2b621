import { Choices, CsrfField, Field, Problems, type Typed, typedList, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";

interface UnitNewPageProps {
  readonly frame: StoresFrame;
  readonly models: readonly { readonly id: string; readonly name: string; readonly size: string }[];
  readonly lots: readonly { readonly id: string; readonly modelName: string; readonly size: string }[];
  readonly problems?: Problems;
  readonly typed?: Typed;
  readonly told?: string | undefined;
}

export function UnitNewPage({ frame, models, lots, problems, typed, told }: UnitNewPageProps) {
  return (
    <Page title="Add a unit" {...frame}>
      <h1>Add a unit</h1>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      {models.length === 0 ? (
        <p class="empty">
          No model is known yet. <a href="/stores/models/new">Add the model first</a>.
        </p>
      ) : (
        <form class="form" method="post" action="/stores/units/new">
          <CsrfField signedIn={frame.signedIn} />
          <Field
            label="Serial"
            name="serial"
            hint="As printed on its label, in capitals."
            value={typedText(typed, "serial")}
            error={problems?.serial}
          />
          <Field
            label="Model"
            name="model"
            value={typedText(typed, "model")}
            error={problems?.model}
            choices={models.map((model) => ({ value: model.id, words: `${model.name}, ${model.size}` }))}
          />
          <p>
            <a href="/stores/models/new">Add a model</a>
          </p>
          <Field
            label="Lot"
            name="lot"
            hint={
              lots.length === 0
                ? "As printed by the maker."
                : `As printed by the maker. Known: ${lots
                    .slice(0, 6)
                    .map((lot) => lot.id)
                    .join(", ")}.`
            }
            value={typedText(typed, "lot")}
            error={problems?.lot}
          />
          <Choices
            legend="Where it goes"
            name="place"
            kind="radio"
            chosen={typedList(typed, "place")}
            error={problems?.place}
            choices={[
              { value: "on-the-bench", words: "To the bench, for its first check" },
              { value: "in-stock", words: "Into stock: it is accepted, clean and checked" },
            ]}
          />
          <button type="submit">Add the unit</button>
        </form>
      )}
    </Page>
  );
}
