import { type CandidateUnit, fitTolerance, type Match } from "../../server/domain/lifecycle/suitability.ts";
import { Caution } from "../layout/caution.tsx";
import { CsrfField, Field, Problems, type Typed, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";
import { UnitChoice, UnitsThatDontSuit } from "./unit-choice.tsx";

export interface BorrowerToLendTo {
  readonly id: string;
  readonly name: string;
  readonly area: string;
  readonly weight: number;
  readonly seatWidth: number;
  readonly seatDepth: number;
  readonly clinicianName: string;
  readonly openLoanId: string | null;
  readonly openLoanReference: string | null;
}

interface LoanNewPageProps {
  readonly frame: StoresFrame;
  /** Those who have no open loan. */
  readonly borrowers: readonly { readonly id: string; readonly name: string; readonly area: string }[];
  readonly borrower: BorrowerToLendTo | null;
  readonly hasPlan: boolean;
  readonly matches: readonly Match[];
  readonly problems?: Problems;
  readonly typed?: Typed;
}

export function LoanNewPage(props: LoanNewPageProps) {
  const { frame, borrower, problems } = props;
  return (
    <Page title="Open a loan" {...frame}>
      <h1>Open a loan</h1>
      <Problems errors={problems} />
      <ChooseBorrower {...props} />
      {borrower === null ? null : <LendTo {...props} borrower={borrower} />}
    </Page>
  );
}

function ChooseBorrower({ borrowers, borrower }: LoanNewPageProps) {
  if (borrowers.length === 0 && borrower === null) {
    return (
      <p class="empty">
        Everyone on the list has an open loan. <a href="/stores/borrowers/new">Add a borrower</a> first.
      </p>
    );
  }
  const listed = borrower !== null && !borrowers.some((each) => each.id === borrower.id);
  const choices = [...(listed && borrower ? [borrower] : []), ...borrowers];
  return (
    <form class="filter" method="get" action="/stores/loans/new">
      <Field
        label="Borrower"
        name="borrower"
        value={borrower?.id}
        choices={choices.map((each) => ({ value: each.id, words: `${each.name}, ${each.area}` }))}
      />
      <button type="submit" class="quiet">
        {borrower === null ? "Choose" : "Choose another"}
      </button>
      <a href="/stores/borrowers/new">Add a borrower</a>
    </form>
  );
}

function LendTo(props: LoanNewPageProps & { borrower: BorrowerToLendTo }) {
  const { borrower, hasPlan, matches } = props;
  const fitting = matches.filter((match) => match.against.length === 0).map((match) => match.unit);
  return (
    <>
      <section>
        <h2>{borrower.name}</h2>
        <dl class="facts">
          <dt>Seat</dt>
          <dd>
            {borrower.seatWidth / 10} cm wide, {borrower.seatDepth / 10} cm deep
          </dd>
          <dt>Weight</dt>
          <dd>{borrower.weight} kg</dd>
          <dt>Relief plan</dt>
          <dd>
            {hasPlan ? `set by ${borrower.clinicianName}` : `not set yet: ${borrower.clinicianName} sets it`}
          </dd>
        </dl>
        <p>
          <a href={`/stores/borrowers/${borrower.id}`}>Correct these first</a> if the chair or the weight has
          changed.
        </p>
      </section>
      {gate(borrower, hasPlan) ?? <LendForm {...props} fitting={fitting} />}
      <UnitsThatDontSuit matches={matches} />
    </>
  );
}

function gate(borrower: BorrowerToLendTo, hasPlan: boolean) {
  if (borrower.openLoanId !== null) {
    return (
      <Caution word="Not now.">
        There is an open loan already,{" "}
        <a href={`/stores/loans/${borrower.openLoanId}`}>{borrower.openLoanReference}</a>. To change the unit,
        plan a swap there.
      </Caution>
    );
  }
  if (hasPlan) return null;
  return (
    <Caution word="Not yet.">
      No relief plan has been set. Ask {borrower.clinicianName}: the plan is made for the person and never
      filled in by default.
    </Caution>
  );
}

function LendForm({
  frame,
  borrower,
  fitting,
  typed,
  problems,
}: LoanNewPageProps & { borrower: BorrowerToLendTo; fitting: readonly CandidateUnit[] }) {
  if (fitting.length === 0) {
    return (
      <p class="empty">
        Nothing in stock suits this seat and weight. The units below say why; clean and check one that fits,
        or wait for one to come back.
      </p>
    );
  }
  return (
    <form class="form" method="post" action="/stores/loans/new">
      <CsrfField signedIn={frame.signedIn} />
      <input type="hidden" name="borrower" value={borrower.id} />
      <UnitChoice
        legend="Unit to lend"
        name="unit"
        units={fitting}
        chosen={typedText(typed, "unit")}
        error={problems?.unit}
        hint={`Within ${fitTolerance / 10} cm of the seat and within the weight limit, nearest first.`}
      />
      <Field
        label="Due back on"
        name="dueBackOn"
        type="date"
        required={false}
        value={typedText(typed, "dueBackOn")}
        error={problems?.dueBackOn}
      />
      <Caution>
        Size and weight are not the whole fit. The maker’s fitting instructions and the clinician’s judgement
        of posture, continence and skin come first.
      </Caution>
      <button type="submit">Open the loan</button>
    </form>
  );
}
