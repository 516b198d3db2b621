import { newId } from "../chance.ts";
import { identityQuestionId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import {
  type IdentityQuestionRow,
  identityQuestionsOfLoan,
  insertIdentityQuestion,
  nameOtherLoan,
} from "../store/identity.ts";
import type { LoanRow } from "../store/loans.ts";
import type { StaffActor } from "./staff-actor.ts";

/** Puts the question whose record it was on the list of the clinician of the other loan, for the same time. They read the
 *  loan it changed places with and no name. Where they have been asked about that loan already, they are not asked
 *  again. Call it in the transaction of the answer. */
export function askColleague(
  services: Services,
  tx: Database,
  actor: StaffActor,
  about: {
    readonly question: IdentityQuestionRow;
    readonly loan: LoanRow;
    readonly other: LoanRow;
    readonly from: Instant;
    readonly until: Instant;
  },
): void {
  const { question, loan, other, from, until } = about;
  const before = identityQuestionsOfLoan(tx, other.id).filter(
    ({ kind, startsAt, endsAt }) =>
      kind === "swapped" && startsAt < until && (endsAt === null || endsAt > from),
  );
  const open = before.find(({ answer, otherLoanId }) => answer === null && otherLoanId === null);
  if (open) nameOtherLoan(tx, open.id, loan.id);
  if (open || before.some(({ otherLoanId }) => otherLoanId === loan.id)) return;
  const at = services.clock.now();
  const id = identityQuestionId(newId(services.chance, "question"));
  insertIdentityQuestion(tx, {
    id,
    kind: "swapped",
    loanId: other.id,
    otherLoanId: loan.id,
    startsAt: from,
    endsAt: until,
    foundAt: at,
    probability: question.probability,
    evidence: [
      `A colleague has confirmed, having asked, that the unit of loan ${loan.reference} changed places with this one in this time.`,
    ],
    answer: null,
    reason: null,
    answeredBy: null,
    answeredAt: null,
  });
  appendAudit(tx, {
    at,
    actor,
    action: "ask-whose-record",
    subject: `loan:${other.id}`,
    detail: { question: id, trouble: "swapped", because: question.id },
  });
}
