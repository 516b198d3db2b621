import type { EquipmentKind } from "../../server/domain/bench/equipment.ts";
import { type BenchPoint, type BenchStep, stepAfter } from "../../server/domain/bench/steps.ts";
import { Caution } from "../layout/caution.tsx";
import { Choices, Field, typedText } from "../layout/forms.tsx";
import { type EquipmentChoice, SeenFields, type SessionPageProps } from "./bench-session-props.tsx";
import { JudgedTable, shownLine } from "./judged-table.tsx";

type StepProps = SessionPageProps & { readonly step: BenchStep };

/** What to do in this step, what has come, and what it says. */
export function BenchStepPart(props: StepProps) {
  const { step, steps, asked, mine } = props;
  const shown = steps.find(({ id }) => id === step.id);
  const kept = new Set(shown?.kept ?? []);
  const next = step.points.find(({ id }) => !kept.has(id)) ?? null;
  return (
    <>
      {shown?.judged ? (
        <JudgedTable lines={shown.judged.lines.map(shownLine)} caption={`What “${step.title}” says`} />
      ) : null}
      {shown?.judged?.hazard ? (
        <Caution word="Make it safe first.">
          A swollen, hot, leaking or wet battery is not charged, pressed, opened or posted. Set it apart as
          local policy says; this session can end with repair or retire only.
        </Caution>
      ) : null}
      {step.points.length > 1 ? <PointList step={step} kept={kept} /> : null}
      {mine && asked !== null ? <Arriving {...props} /> : null}
      {mine && asked === null && !shown?.judged ? <AskForm {...props} point={next} /> : null}
      {mine && asked === null && shown?.judged ? <Onwards {...props} /> : null}
    </>
  );
}

function PointList({ step, kept }: { step: BenchStep; kept: ReadonlySet<string> }) {
  return (
    <ol class="story points">
      {step.points.map(({ id, words }) => (
        <li>
          {kept.has(id) ? "✓ " : ""}
          {words}
        </li>
      ))}
    </ol>
  );
}

function AskForm(props: StepProps & { readonly point: BenchPoint | null }) {
  const { frame, session, point, step, equipment, tolerances } = props;
  return (
    <form class="stack" method="post" action={`/bench/sessions/${session.id}/ask`}>
      <SeenFields frame={frame} session={session} />
      {point === null ? null : (
        <p>
          <strong>Now: {point.words}</strong>
          {point.id === "end" ? ` Here that is ${tolerances.holdMinutes} min.` : ""}
        </p>
      )}
      {point === null ? null : <input type="hidden" name="point" value={point.id} />}
      {point?.load === "plate" || point?.load === "weight" ? (
        <KnownLoad {...props} kind={point.load} registered={equipment} />
      ) : null}
      <button type="submit">{askWords(step)}</button>
    </form>
  );
}

function askWords(step: BenchStep): string {
  if (step.points.length > 0) return "Take the readings";
  return step.id === "line-sweep" ? "Let it test its lines" : "Ask it to report";
}

function KnownLoad({
  kind,
  registered,
  problems,
  typed,
}: SessionPageProps & { readonly kind: EquipmentKind; readonly registered: readonly EquipmentChoice[] }) {
  const fitting = registered.filter((each) => each.kind === kind);
  if (fitting.length === 0)
    return (
      <p class="empty">
        None is registered. <a href="/bench/equipment">Register it with its calibration</a> first.
      </p>
    );
  return (
    <div class="pair">
      <Field
        label={kind === "plate" ? "Rig" : "Weight"}
        name="equipment"
        value={typedText(typed, "equipment")}
        choices={fitting.map(({ id, words }) => ({ value: id, words }))}
      />
      {kind === "plate" ? (
        <Field
          label="Load on its display"
          name="kilograms"
          unit="kg"
          inputmode="decimal"
          value={typedText(typed, "kilograms")}
          error={problems?.kilograms}
        />
      ) : null}
    </div>
  );
}

function Arriving(props: StepProps) {
  const { frame, session, asked, step, problems } = props;
  if (asked === null) return null;
  return (
    <div class="stack">
      <p role="status">
        <strong>
          {asked.have} of {asked.want} {step.points.length > 0 ? "readings have" : "answers have"} come
        </strong>
        {asked.ready ? "." : ": this part renews itself; without that, load the page again."}
      </p>
      {asked.refusal === null ? null : <p>The unit declined: {asked.refusal}. Ask again in a moment.</p>}
      {asked.ready ? (
        <form class="stack" method="post" action={`/bench/sessions/${session.id}/keep`}>
          <SeenFields frame={frame} session={session} />
          {step.id === "battery" ? (
            <Choices
              legend="Is the battery swollen, hot, leaking, wet, or does it smell?"
              name="hazard"
              kind="radio"
              chosen={[]}
              error={problems?.hazard}
              choices={[
                { value: "no", words: "No, none of these" },
                { value: "yes", words: "Yes" },
              ]}
            />
          ) : null}
          {step.id === "cable-flex" ? (
            <Choices
              legend="Is there damage at the cable or plug?"
              name="flex"
              kind="radio"
              chosen={[]}
              error={problems?.flex}
              choices={[
                { value: "nothing", words: "None seen" },
                { value: "damage", words: "Damage seen" },
              ]}
            />
          ) : null}
          <button type="submit">Keep it</button>
        </form>
      ) : null}
      <form method="post" action={`/bench/sessions/${session.id}/go`}>
        <SeenFields frame={frame} session={session} />
        <button type="submit" name="step" value={session.step} class="quiet">
          Set up again
        </button>
      </form>
    </div>
  );
}

function Onwards({ frame, session }: StepProps) {
  const next = stepAfter(session.step);
  return (
    <div class="actions">
      {next === null ? null : (
        <form method="post" action={`/bench/sessions/${session.id}/go`}>
          <SeenFields frame={frame} session={session} />
          <button type="submit" name="step" value={next}>
            Next step
          </button>
        </form>
      )}
      <form method="post" action={`/bench/sessions/${session.id}/repeat`}>
        <SeenFields frame={frame} session={session} />
        <button type="submit" name="step" value={session.step} class="quiet">
          Repeat this step
        </button>
      </form>
    </div>
  );
}
