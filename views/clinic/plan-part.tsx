import { type ReliefKind, reliefKinds } from "../../server/domain/record/unit-record.ts";
import { localDayOf } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { reliefWords } from "../charts/day-ribbon.tsx";
import { Caution } from "../layout/caution.tsx";
import {
  Choices,
  CsrfField,
  Field,
  type Problems,
  type Typed,
  typedList,
  typedText,
} from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";

export interface PlanShown {
  readonly version: number;
  readonly validFrom: Instant;
  readonly interval: number;
  readonly hold: number;
  readonly kinds: readonly ReliefKind[];
  readonly setBy: string;
}

interface PlanPartProps {
  readonly frame: ClinicFrame;
  readonly person: string;
  /** Newest first. */
  readonly plans: readonly PlanShown[];
  readonly problems?: Problems | undefined;
  readonly typed?: Typed | undefined;
}

const kindList = (kinds: readonly ReliefKind[]): string => kinds.map((kind) => reliefWords[kind]).join(", ");

export function PlanPart({ frame, plans, person, problems, typed }: PlanPartProps) {
  return (
    <section id="plan">
      <h2>Relief plan</h2>
      {plans.length === 0 ? (
        <p class="empty">No plan is set, and none is assumed: until one is, no relief counts as due.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>Versions, newest first. What happened is judged by the version in force then.</caption>
            <thead>
              <tr>
                <th scope="col">Version</th>
                <th scope="col">From</th>
                <th scope="col">A relief is due after</th>
                <th scope="col">Held for</th>
                <th scope="col">Kinds that count</th>
                <th scope="col">Set by</th>
              </tr>
            </thead>
            <tbody>
              {plans.map((plan) => (
                <tr>
                  <th scope="row" data-label="Version">
                    {plan.version}
                  </th>
                  <td data-label="From">{dateTimeWords(plan.validFrom, frame.zone)}</td>
                  <td data-label="A relief is due after">{plan.interval} min seated</td>
                  <td data-label="Held for">{plan.hold} s</td>
                  <td data-label="Kinds that count">{kindList(plan.kinds)}</td>
                  <td data-label="Set by">{plan.setBy}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      <details class="screen-only" open={problems !== undefined}>
        <summary>Set a new version</summary>
        <PlanForm frame={frame} person={person} problems={problems} typed={typed} />
      </details>
    </section>
  );
}

function PlanForm({ frame, person, problems, typed }: Omit<PlanPartProps, "plans">) {
  return (
    <form class="form" method="post" action={`/clinic/people/${person}/plan`}>
      <CsrfField signedIn={frame.signedIn} />
      <Caution>
        Regimens differ from person to person. Nothing is filled in here: enter what you prescribe, by local
        policy.
      </Caution>
      <Field
        label="In force from"
        name="from"
        type="date"
        hint="Today starts it now. A past day can't be chosen."
        min={localDayOf(frame.now, frame.zone)}
        value={typedText(typed, "from")}
        error={problems?.from}
      />
      <div class="pair">
        <Field
          label="A relief is due after"
          name="interval"
          type="number"
          min={5}
          max={240}
          unit="min seated"
          value={typedText(typed, "interval")}
          error={problems?.interval}
        />
        <Field
          label="Held for at least"
          name="hold"
          type="number"
          min={5}
          max={900}
          unit="s"
          value={typedText(typed, "hold")}
          error={problems?.hold}
        />
      </div>
      <Choices
        legend="Kinds that count"
        name="kinds"
        kind="checkbox"
        chosen={typedList(typed, "kinds")}
        error={problems?.kinds}
        choices={reliefKinds.map((kind) => ({ value: kind, words: reliefWords[kind] }))}
      />
      <button type="submit">Set this plan</button>
    </form>
  );
}
