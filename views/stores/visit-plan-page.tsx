import type { Match } from "../../server/domain/lifecycle/suitability.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { Caution } from "../layout/caution.tsx";
import { CsrfField, Field, Problems, type Typed, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";
import type { LoanFacts } from "./loan-facts.ts";
import { UnitChoice, UnitsThatDontSuit } from "./unit-choice.tsx";

interface VisitPlanPageProps {
  readonly frame: StoresFrame;
  readonly loan: LoanFacts;
  readonly kind: "swap" | "collection";
  readonly today: LocalDay;
  readonly people: readonly { readonly id: string; readonly name: string; readonly role: string }[];
  readonly matches: readonly Match[];
  readonly problems?: Problems;
  readonly typed?: Typed;
}

export function VisitPlanPage(props: VisitPlanPageProps) {
  const { frame, loan, kind, matches, problems } = props;
  const title =
    kind === "swap" ? `Plan a swap for ${loan.reference}` : `Plan a collection for ${loan.reference}`;
  const fitting = matches.filter((match) => match.against.length === 0);
  return (
    <Page title={title} {...frame}>
      <h1>{title}</h1>
      <p class="sentence">
        <a href={`/stores/loans/${loan.id}`}>{loan.unitSerial}</a>, {loan.size}, is lent to{" "}
        {loan.borrowerName} in {loan.area}.
      </p>
      <Problems errors={problems} />
      {kind === "swap" && fitting.length === 0 ? (
        <p class="empty">
          Nothing in stock suits this seat and weight, so no swap can be promised yet. The units below say
          why.
        </p>
      ) : (
        <PlanForm {...props} />
      )}
      {kind === "swap" ? <UnitsThatDontSuit matches={matches} /> : null}
    </Page>
  );
}

function PlanForm({ frame, loan, kind, today, people, matches, problems, typed }: VisitPlanPageProps) {
  const units = matches.filter((match) => match.against.length === 0).map((match) => match.unit);
  return (
    <form class="form" method="post" action={`/stores/loans/${loan.id}/${kind}`}>
      <CsrfField signedIn={frame.signedIn} />
      {kind === "swap" ? (
        <UnitChoice
          legend="Unit to bring"
          name="replacement"
          hint="Nearest in size first. It is reserved as soon as the visit is planned."
          units={units}
          chosen={typedText(typed, "replacement")}
          error={problems?.replacement}
        />
      ) : (
        <Caution>
          Never take a cushion away without an equivalent surface in place. Where the person still needs one,
          plan a swap instead.
        </Caution>
      )}
      <Field
        label="Day"
        name="day"
        type="date"
        min={today}
        value={typedText(typed, "day") || today}
        error={problems?.day}
      />
      <Field
        label="Who goes"
        name="doneBy"
        value={typedText(typed, "doneBy")}
        error={problems?.doneBy}
        choices={people.map((person) => ({ value: person.id, words: `${person.name}, ${person.role}` }))}
      />
      <Field
        label="Why"
        name="reason"
        value={typedText(typed, "reason")}
        error={problems?.reason}
        hint="What the unit or the loan needs. It stands on the run sheet: nothing clinical."
      />
      <div class="actions">
        <button type="submit">{kind === "swap" ? "Plan the swap" : "Plan the collection"}</button>
        <a href={`/stores/loans/${loan.id}`}>Don’t plan it</a>
      </div>
    </form>
  );
}
