import {
  type Calibration,
  type EquipmentKind,
  equipmentKinds,
  equipmentWords,
  type Fitness,
} from "../../server/domain/bench/equipment.ts";
import {
  CsrfField,
  Field,
  type Problems as ProblemList,
  Problems,
  type Typed,
  typedText,
} from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { dayWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";

interface EquipmentPageProps {
  readonly frame: BenchFrame;
  readonly items: readonly {
    readonly id: string;
    readonly kind: EquipmentKind;
    readonly name: string;
    readonly calibration: Calibration | null;
    readonly fitness: Fitness;
  }[];
  readonly problems?: ProblemList | undefined;
  readonly typed?: Typed | undefined;
  readonly told?: string | undefined;
}

export function EquipmentPage(props: EquipmentPageProps) {
  const { frame, items, problems, told } = props;
  return (
    <Page title="Rigs and weights" {...frame}>
      <h1>Rigs and weights</h1>
      <p class="lead">
        Every known load comes from one of these. Past its due day it is refused at the bench until a new
        calibration is entered.
      </p>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      {items.length === 0 ? (
        <p class="empty">None is registered: without one no session can pass.</p>
      ) : (
        <ul class="worklist">
          {items.map((item) => (
            <li>
              <div class="stack">
                <h2>{item.name}</h2>
                <p>
                  {equipmentWords[item.kind]}. {calibrationWords(item.calibration)}{" "}
                  <strong>{fitnessWords(item.fitness)}</strong>
                </p>
                <details>
                  <summary>
                    Enter a new calibration<span class="seen-by-readers-only"> of {item.name}</span>
                  </summary>
                  <form class="form" method="post" action={`/bench/equipment/${item.id}/calibration`}>
                    <CsrfField signedIn={frame.signedIn} />
                    <CalibrationFields prefix={item.id} />
                    <button type="submit">Enter it</button>
                  </form>
                </details>
                <form method="post" action={`/bench/equipment/${item.id}/withdraw`}>
                  <CsrfField signedIn={frame.signedIn} />
                  <button type="submit" class="grave">
                    Take it out of use<span class="seen-by-readers-only"> ({item.name})</span>
                  </button>
                </form>
              </div>
            </li>
          ))}
        </ul>
      )}
      <section>
        <h2>Register another</h2>
        <form class="form" method="post" action="/bench/equipment">
          <CsrfField signedIn={frame.signedIn} />
          <Field
            label="Kind"
            name="kind"
            value={typedText(props.typed, "kind")}
            choices={equipmentKinds.map((value) => ({ value, words: equipmentWords[value] }))}
          />
          <Field
            label="Name on it"
            name="name"
            value={typedText(props.typed, "name")}
            error={problems?.name}
          />
          <CalibrationFields prefix="" problems={problems} typed={props.typed} />
          <button type="submit">Register it</button>
        </form>
      </section>
    </Page>
  );
}

function CalibrationFields({
  prefix,
  problems,
  typed,
}: {
  readonly prefix: string;
  readonly problems?: ProblemList | undefined;
  readonly typed?: Typed | undefined;
}) {
  // Two forms of one page need two sets of ids; what is posted has the same names.
  const field = (name: string) => ({
    name,
    idSuffix: prefix,
    value: typedText(typed, name),
    error: problems?.[name],
  });
  return (
    <>
      <Field label="Certificate reference" {...field("certificate")} />
      <div class="pair">
        <Field label="Calibrated on" type="date" {...field("calibratedOn")} />
        <Field label="Due on" type="date" {...field("dueOn")} />
      </div>
      <div class="pair">
        <Field
          label="Mass, or greatest load of a rig"
          unit="kg"
          inputmode="decimal"
          {...field("kilograms")}
        />
        <Field
          label="Smallest step shown"
          unit="kg"
          inputmode="decimal"
          hint="0 for a weight."
          {...field("resolution")}
        />
      </div>
      <div class="pair">
        <Field label="Expanded uncertainty" unit="kg" inputmode="decimal" {...field("uncertainty")} />
        <Field label="Coverage factor k" inputmode="decimal" {...field("factor")} />
      </div>
    </>
  );
}

const calibrationWords = (calibration: Calibration | null): string =>
  calibration === null
    ? "No calibration yet."
    : `${calibration.kilograms} kg ± ${calibration.expandedUncertainty} kg (k = ${calibration.coverageFactor}), certificate ${calibration.certificateReference} of ${dayWords(calibration.calibratedOn)}.`;

function fitnessWords(fitness: Fitness): string {
  switch (fitness.kind) {
    case "in-date":
      return "✓ In date.";
    case "expired":
      return `⚠ Ran out on ${dayWords(fitness.dueOn)}: refused until it is calibrated again.`;
    case "not-calibrated":
      return "⚠ Not calibrated: refused.";
    case "not-yet":
      return "⚠ Its certificate is dated after today: refused.";
  }
}
