import type { CodeState } from "../../server/domain/enrolment/pairing-code-state.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField } from "../layout/forms.tsx";
import { agoWords, dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import type { LoanFacts } from "./loan-facts.ts";

export interface CodeShown {
  readonly id: string;
  readonly state: CodeState;
  readonly issuedAt: Instant;
  readonly expiresAt: Instant;
  readonly spentAt: Instant | null;
  readonly withdrawnAt: Instant | null;
}

interface PairingPanelProps {
  readonly frame: StoresFrame;
  readonly loan: LoanFacts;
  readonly code: CodeShown | null;
}

/** Where the pairing code stands: it stands inside the loan's live region, so a claim appears as it happens. */
export function PairingPanel({ frame, loan, code }: PairingPanelProps) {
  return (
    <section id="pairing" class="slip">
      <h2>Pairing code</h2>
      <p class="sentence" data-pairing-state={code?.state ?? "none"}>
        {stateSentence(loan, code, frame)}
      </p>
      {loan.endedAt !== null ? null : (
        <div class="actions">
          {code?.state === "issued" ? (
            <a class="button" href={`/stores/loans/${loan.id}/pairing-code`}>
              Show and print it
            </a>
          ) : null}
          <IssueForm frame={frame} loan={loan} code={code} />
          {code?.state === "issued" ? (
            <form method="post" action={`/stores/loans/${loan.id}/pairing-code/withdraw`}>
              <CsrfField signedIn={frame.signedIn} />
              <input type="hidden" name="code" value={code.id} />
              <button type="submit" class="grave">
                Withdraw it
              </button>
            </form>
          ) : null}
        </div>
      )}
    </section>
  );
}

function IssueForm({ frame, loan, code }: PairingPanelProps) {
  const first = code === null;
  const words = first ? "Issue a pairing code" : code.state === "issued" ? "Replace it" : "Issue a new code";
  return (
    <form method="post" action={`/stores/loans/${loan.id}/pairing-code`}>
      {code?.state === "spent" && (
        <p class="since">
          Only for a unit that has lost its key: once a new code is used, the certificate in use now ends.
        </p>
      )}
      <CsrfField signedIn={frame.signedIn} />
      {/* Which code the page showed: a second press must not withdraw the code that the first one made. */}
      <input type="hidden" name="instead-of" value={code?.id ?? ""} />
      <button type="submit" class={first ? undefined : "quiet"}>
        {words}
      </button>
    </form>
  );
}

function stateSentence(loan: LoanFacts, code: CodeShown | null, { zone, now }: StoresFrame): string {
  if (code === null)
    return loan.endedAt === null
      ? "No code has been issued for this loan: the unit can’t enrol without one."
      : "No code was issued for this loan.";
  switch (code.state) {
    case "issued":
      return `Issued on ${dateTimeWords(code.issuedAt, zone)}, not used yet. It can be used until ${dateTimeWords(code.expiresAt, zone)} (${agoWords(code.expiresAt, now)}).`;
    case "spent":
      return `Claimed: the unit enrolled on ${dateTimeWords(code.spentAt ?? code.issuedAt, zone)} (${agoWords(code.spentAt ?? code.issuedAt, now)}).`;
    case "withdrawn":
      return `Withdrawn on ${dateTimeWords(code.withdrawnAt ?? code.issuedAt, zone)}: nobody can use it any more.`;
    case "expired":
      return `Expired unused on ${dateTimeWords(code.expiresAt, zone)}.`;
  }
}
