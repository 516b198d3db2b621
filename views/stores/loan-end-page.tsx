import { Caution } from "../layout/caution.tsx";
import { Choices, CsrfField, Field, Problems, type Typed, typedList, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";
import type { LoanFacts } from "./loan-facts.ts";
import { SurfaceChoice } from "./surface-choice.tsx";

interface LoanEndPageProps {
  readonly frame: StoresFrame;
  readonly loan: LoanFacts;
  readonly problems?: Problems;
  readonly typed?: Typed;
}

export function LoanEndPage({ frame, loan, problems, typed }: LoanEndPageProps) {
  return (
    <Page title={`End loan ${loan.reference}`} {...frame}>
      <h1>
        End loan {loan.reference}: {loan.unitSerial}, lent to {loan.borrowerName}
      </h1>
      <Problems errors={problems} />
      <p>
        Ending it shuts the unit out: its certificate is revoked, unused pairing codes are withdrawn, and a
        planned visit is cancelled. What it has recorded stays with this loan.
      </p>
      <form class="form" method="post" action={`/stores/loans/${loan.id}/end`}>
        <CsrfField signedIn={frame.signedIn} />
        <Field
          label="Why it ends"
          name="reason"
          value={typedText(typed, "reason")}
          error={problems?.reason}
          hint="Plain words, for the record: no longer needed, chair changed, moved away."
        />
        <Choices
          legend="Where the unit is now"
          name="unitTo"
          kind="radio"
          chosen={typedList(typed, "unitTo")}
          error={problems?.unitTo}
          choices={[
            { value: "coming-back", words: "On its way back, bagged and labelled as used" },
            { value: "quarantine", words: "Here, in quarantine" },
            { value: "missing", words: "Missing: nobody knows" },
          ]}
        />
        <Caution>
          Never take a cushion away without an equivalent surface in place. The cushion is pressure care first
          and a sensor second: a fault in the sensor is no reason to stop sitting on it.
        </Caution>
        <SurfaceChoice problems={problems} typed={typed} />
        <div class="actions">
          <button type="submit" class="grave">
            End the loan
          </button>
          <a href={`/stores/loans/${loan.id}`}>Leave it open</a>
        </div>
      </form>
    </Page>
  );
}
