import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { counted } from "../layout/counted.ts";
import { Field } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import { dateTimeWords, dayWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

interface LoanLine {
  readonly id: string;
  readonly reference: string;
  readonly unitSerial: string;
  readonly size: string;
  readonly borrowerName: string;
  readonly area: string;
  readonly openedAt: Instant;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
  readonly dueBackOn: LocalDay | null;
}

interface LoansPageProps {
  readonly frame: StoresFrame;
  readonly loans: readonly LoanLine[];
  readonly total: number;
  readonly page: number;
  readonly perPage: number;
  readonly query: { readonly state: "open" | "ended" | "all"; readonly text: string };
}

export function LoansPage({ frame, loans, total, page, perPage, query }: LoansPageProps) {
  return (
    <Page title="Loans" {...frame}>
      <div class="heading-row">
        <h1>Loans</h1>
        <a class="button" href="/stores/loans/new">
          Open a loan
        </a>
      </div>
      <form class="filter" method="get" action="/stores/loans">
        <Field
          label="Reference, serial or name"
          name="text"
          type="search"
          value={query.text}
          required={false}
        />
        <Field
          label="Show"
          name="state"
          value={query.state}
          choices={[
            { value: "open", words: "Open loans" },
            { value: "ended", words: "Ended loans" },
            { value: "all", words: "All loans" },
          ]}
        />
        <button type="submit" class="quiet">
          Search
        </button>
      </form>
      {loans.length === 0 ? (
        <p class="empty">No {query.state === "all" ? "" : `${query.state} `}loan matches.</p>
      ) : (
        <>
          <LoanTable loans={loans} total={total} frame={frame} />
          <Pager path="/stores/loans" query={query} page={page} perPage={perPage} total={total} />
        </>
      )}
    </Page>
  );
}

function LoanTable({ loans, total, frame }: Pick<LoansPageProps, "loans" | "total" | "frame">) {
  return (
    <table class="ledger stacks">
      <caption>{counted(total, "loan")}, newest first</caption>
      <thead>
        <tr>
          <th scope="col">Loan</th>
          <th scope="col">Unit</th>
          <th scope="col">Borrower</th>
          <th scope="col">State</th>
          <th scope="col">Due back</th>
        </tr>
      </thead>
      <tbody>
        {loans.map((loan) => (
          <tr>
            <th scope="row">
              <a href={`/stores/loans/${loan.id}`}>{loan.reference}</a>
            </th>
            <td data-label="Unit">
              <a href={`/stores/units/${loan.unitSerial}`}>{loan.unitSerial}</a>, {loan.size}
            </td>
            <td data-label="Borrower">
              {loan.borrowerName}, {loan.area}
            </td>
            <td data-label="State">{stateWords(loan, frame)}</td>
            <td data-label="Due back">
              {loan.endedAt !== null ? "–" : loan.dueBackOn === null ? "no date" : dayWords(loan.dueBackOn)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** In one clause: ended, waiting for the unit to enrol, or running. */
function stateWords(loan: LoanLine, { zone }: StoresFrame): string {
  if (loan.endedAt !== null) return `ended on ${dateTimeWords(loan.endedAt, zone)}`;
  if (loan.startedAt === null) return `opened on ${dateTimeWords(loan.openedAt, zone)}, not enrolled yet`;
  return `enrolled on ${dateTimeWords(loan.startedAt, zone)}`;
}
