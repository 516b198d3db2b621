import {
  type DescribedDraw,
  drawDefinitions,
  usualDraw,
} from "../../server/domain/battery/cell-description.ts";
import {
  type ToleranceDefinition,
  type ToleranceName,
  toleranceDefinitions,
  usualTolerances,
} from "../../server/domain/bench/tolerances.ts";
import { keysOf } from "../../server/domain/keys-of.ts";
import { BenchMap } from "../charts/bench-map.tsx";
import { CsrfField, Field, Problems, type Typed, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { BenchFrame } from "./frame.ts";

interface ModelProps {
  readonly frame: BenchFrame;
  readonly model: {
    readonly id: string;
    readonly name: string;
    readonly size: string;
    readonly rows: number;
    readonly columns: number;
    readonly pitch: number;
    readonly ratedCapacity: number;
    readonly weightLimit: number;
    readonly absent: readonly number[];
    readonly version: number;
  };
  /** What stands in the form. */
  readonly typed: Typed;
  readonly problems?: Problems | undefined;
  readonly told?: string | undefined;
}

/** One model as the bench sees it: its limits, and the places of its grid that hold no cell. */
export function ModelPage({ frame, model, typed, problems, told }: ModelProps) {
  const shown = (name: string) => ({ name, value: typedText(typed, name), error: problems?.[name] });
  const { id, rows, columns, absent } = model;
  return (
    <Page title={`${model.name}, ${model.size}`} {...frame}>
      <h1>
        {model.name}, {model.size}
      </h1>
      <p class="lead">
        {rows} rows and {columns} columns, {model.pitch} mm apart. Battery rated {model.ratedCapacity} mAh.
        For people up to {model.weightLimit} kg.
      </p>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      {absent.length === 0 ? null : (
        <BenchMap
          rows={rows}
          columns={columns}
          cells={Array.from({ length: rows * columns }, () => 0)}
          masked={absent}
          caption="The grid from above; what is crossed out holds no cell."
        />
      )}
      <form method="post" action={`/bench/models/${id}`} class="form">
        <Problems errors={problems} />
        <CsrfField signedIn={frame.signedIn} />
        <input type="hidden" name="seen" value={model.version} />
        <Field
          label="Places without a cell"
          hint="Row before column, counted from the front left, such as 1/1, 1/10. They raise no alarm and count as blind."
          required={false}
          rows={2}
          {...shown("absent")}
        />
        <h2>Bench limits</h2>
        <p>
          A box left empty means the usual number. A limit that is wider than the maker’s lets a unit pass
          that isn’t fit: enter what its data sheet or its test instructions say. Sessions that are open keep
          theirs.
        </p>
        <Field
          label="Where the numbers below come from"
          hint="Such as the data sheet, its edition and date. Needed as soon as one differs."
          required={false}
          {...shown("from")}
        />
        {keysOf(toleranceDefinitions).map((name) => (
          <Field
            label={toleranceDefinitions[name].meaning}
            hint={hintOf(name, toleranceDefinitions[name])}
            inputmode="decimal"
            required={false}
            {...shown(name)}
          />
        ))}
        <h2>What it draws</h2>
        <p>From this and the rated capacity its hours to empty are told.</p>
        {keysOf(drawDefinitions).map((name) => (
          <Field
            label={drawDefinitions[name].meaning}
            hint={`From ${drawDefinitions[name].low} to ${drawDefinitions[name].high}; usual: ${usualDraw[name]} (assumption).`}
            inputmode="decimal"
            required={false}
            {...shown(drawField(name))}
          />
        ))}
        <button type="submit">Put these in force</button>
      </form>
    </Page>
  );
}

export const drawField = (name: keyof DescribedDraw): string => `draw-${name}`;

const hintOf = (name: ToleranceName, { low, high, origin, whole }: ToleranceDefinition): string =>
  `${whole ? "A whole number from" : "From"} ${low} to ${high}; usual: ${usualTolerances[name]} (${origin}).`;
