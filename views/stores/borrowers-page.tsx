import { counted } from "../layout/counted.ts";
import { Field } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import type { StoresFrame } from "./frame.ts";

interface BorrowersPageProps {
  readonly frame: StoresFrame;
  readonly borrowers: readonly {
    readonly id: string;
    readonly name: string;
    readonly area: string;
    readonly phone: string;
    readonly clinicianName: string;
    readonly openLoanId: string | null;
    readonly openLoanReference: string | null;
  }[];
  readonly total: number;
  readonly page: number;
  readonly perPage: number;
  readonly text: string;
}

export function BorrowersPage({ frame, borrowers, total, page, perPage, text }: BorrowersPageProps) {
  return (
    <Page title="Borrowers" {...frame}>
      <div class="heading-row">
        <h1>Borrowers</h1>
        <a class="button" href="/stores/borrowers/new">
          Add a borrower
        </a>
      </div>
      <form class="filter" method="get" action="/stores/borrowers">
        <Field label="Name or area" name="text" type="search" value={text} required={false} />
        <button type="submit" class="quiet">
          Search
        </button>
      </form>
      {borrowers.length === 0 ? (
        <p class="empty">{text === "" ? "Nobody has been added yet." : "Nobody matches."}</p>
      ) : (
        <table class="ledger stacks">
          <caption>{counted(total, "person").replace("persons", "people")}, by name</caption>
          <thead>
            <tr>
              <th scope="col">Name</th>
              <th scope="col">Area</th>
              <th scope="col">Phone</th>
              <th scope="col">Clinician</th>
              <th scope="col">Open loan</th>
            </tr>
          </thead>
          <tbody>
            {borrowers.map((borrower) => (
              <tr>
                <th scope="row">
                  <a href={`/stores/borrowers/${borrower.id}`}>{borrower.name}</a>
                </th>
                <td data-label="Area">{borrower.area}</td>
                <td data-label="Phone">{borrower.phone}</td>
                <td data-label="Clinician">{borrower.clinicianName}</td>
                <td data-label="Open loan">
                  {borrower.openLoanId === null ? (
                    "none"
                  ) : (
                    <a href={`/stores/loans/${borrower.openLoanId}`}>{borrower.openLoanReference}</a>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <Pager path="/stores/borrowers" query={{ text }} page={page} perPage={perPage} total={total} />
    </Page>
  );
}
