import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, Field, Problems, type Typed, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

interface BorrowerPageProps {
  readonly frame: StoresFrame;
  /** null: a new one. */
  readonly borrower: { readonly id: string; readonly name: string } | null;
  readonly clinicians: readonly { readonly id: string; readonly name: string }[];
  readonly hasPlan: boolean;
  readonly loans: readonly {
    readonly id: string;
    readonly reference: string;
    readonly unitSerial: string;
    readonly openedAt: Instant;
    readonly endedAt: Instant | null;
  }[];
  /** What the form holds: as stored, or as last typed. */
  readonly typed: Typed;
  readonly problems?: Problems | undefined;
  readonly told?: string | undefined;
}

export function BorrowerPage(props: BorrowerPageProps) {
  const { frame, borrower, problems, told } = props;
  const title = borrower === null ? "Add a borrower" : borrower.name;
  return (
    <Page title={title} {...frame}>
      <h1>{title}</h1>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      {borrower === null ? null : <Loans {...props} />}
      <section>
        {borrower === null ? null : <h2>Contact, seat and clinician</h2>}
        <BorrowerForm {...props} />
      </section>
    </Page>
  );
}

function Loans({ frame, borrower, hasPlan, loans }: BorrowerPageProps) {
  const open = loans.some((loan) => loan.endedAt === null);
  return (
    <section>
      <h2>Loans</h2>
      {loans.length === 0 ? <p>No loan yet.</p> : null}
      <ul class="plain">
        {loans.map((loan) => (
          <li>
            <a href={`/stores/loans/${loan.id}`}>{loan.reference}</a>: {loan.unitSerial}, from{" "}
            {dateTimeWords(loan.openedAt, frame.zone)}
            {loan.endedAt === null ? ", open" : ` to ${dateTimeWords(loan.endedAt, frame.zone)}`}
          </li>
        ))}
      </ul>
      <p>
        {hasPlan
          ? "A relief plan is set."
          : "No relief plan is set yet; the clinician sets it before a loan can open."}
      </p>
      {!open && hasPlan ? (
        <p>
          <a class="button" href={`/stores/loans/new?borrower=${borrower?.id ?? ""}`}>
            Open a loan
          </a>
        </p>
      ) : null}
    </section>
  );
}

function BorrowerForm({ frame, borrower, clinicians, typed, problems }: BorrowerPageProps) {
  const shown = (name: string) => ({ name, value: typedText(typed, name), error: problems?.[name] });
  return (
    <form
      class="form"
      method="post"
      action={borrower === null ? "/stores/borrowers/new" : `/stores/borrowers/${borrower.id}`}
    >
      <CsrfField signedIn={frame.signedIn} />
      <Field label="Name" {...shown("name")} />
      <Field label="Area" hint="Town or part of town: visits are planned by area." {...shown("area")} />
      <Field label="Address" rows={2} {...shown("address")} />
      <Field label="Phone" type="tel" inputmode="tel" {...shown("phone")} />
      <div class="pair">
        <Field
          label="Seat width"
          hint="Between the sides, as measured."
          inputmode="decimal"
          unit="cm"
          {...shown("seatWidth")}
        />
        <Field
          label="Seat depth"
          hint="Back to front edge."
          inputmode="decimal"
          unit="cm"
          {...shown("seatDepth")}
        />
      </div>
      <Field
        label="Weight"
        hint="As last weighed: a cushion’s limit is checked against it."
        inputmode="numeric"
        unit="kg"
        {...shown("weight")}
      />
      <Field
        label="Clinician"
        hint="Sets the relief plan and sees the record."
        choices={clinicians.map((clinician) => ({ value: clinician.id, words: clinician.name }))}
        {...shown("clinicianId")}
      />
      <button type="submit">{borrower === null ? "Add the borrower" : "Save the changes"}</button>
    </form>
  );
}
