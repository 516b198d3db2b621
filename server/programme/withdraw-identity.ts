import type { FindingKind } from "../domain/condition/condition.ts";
import type { IdentityTroubleKind } from "../domain/identity-trouble/identity-trouble.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { type FindingRow, openFindingsOf } from "../store/findings.ts";
import {
  answerIdentityQuestion,
  type IdentityQuestionRow,
  identityQuestionsOfLoan,
} from "../store/identity.ts";
import type { LoanRow } from "../store/loans.ts";

/** Under any of these the loads the grid tells are not to be believed. */
const loadFindings: readonly FindingKind[] = [
  "row-open",
  "column-open",
  "cell-open",
  "cell-stuck",
  "lines-shorted",
  "connector-loose",
  "moisture",
  "insert-turned",
  "insert-shifted",
  "insert-folded",
  "foam-bottoming",
  "zero-drift",
  "gain-or-weight",
];
/** Another person is one of its own explanations: where the loads of two units have changed places, the likelier. */
export const loadStep: FindingKind = "gain-or-weight";
/** Troubles that were seen in the loads alone. */
const askedByLoad: readonly IdentityTroubleKind[] = ["swapped", "two-people", "object", "other-seat"];
/** A finding is dated by an assessment, and there is one a day. Assumption. */
const datedWithin = 24 * millisecondsIn.hour;

/** Findings that stand, not refuted by anybody, under which a load says nothing of who sat there. */
export const gridFindingsOf = (db: Database, unit: UnitSerial): readonly FindingRow[] =>
  openFindingsOf(db, unit).filter(
    ({ kind, judgement }) => loadFindings.includes(kind) && judgement !== "refuted",
  );

/** Takes back what was asked about a person before it was known that the grid tells their loads wrongly: the cushion is
 *  the nearer explanation, and nobody should be rung about it. What somebody has answered stays. */
export function withdrawExplained(services: Services, loan: LoanRow): void {
  const at = services.clock.now();
  const withdrawn = services.db.transaction(
    (tx) => {
      const findings = gridFindingsOf(tx, loan.unitSerial);
      const explained = identityQuestionsOfLoan(tx, loan.id).flatMap((question) => {
        const finding = findings.find((one) => explains(one, question));
        return finding ? [{ question, finding }] : [];
      });
      for (const { question, finding } of explained) {
        answerIdentityQuestion(tx, question.id, {
          answer: "withdrawn",
          reason: `the unit itself explains it. ${finding.sentence}`,
          answeredBy: null,
          answeredAt: at,
        });
        appendAudit(tx, {
          at,
          actor: { kind: "system" },
          action: "withdraw-whose-record",
          subject: `loan:${loan.id}`,
          detail: { question: question.id, trouble: question.kind, finding: finding.id, found: finding.kind },
        });
      }
      return explained.length;
    },
    { behavior: "immediate" },
  );
  if (withdrawn > 0) services.live.changed("clinic", `person:${loan.borrowerId}`);
}

/** It was there in the days that were asked about. */
const explains = (
  { kind: found, since }: FindingRow,
  { kind, answer, endsAt, otherLoanId }: IdentityQuestionRow,
): boolean =>
  answer === null &&
  askedByLoad.includes(kind) &&
  !(found === loadStep && otherLoanId !== null) &&
  (endsAt === null || since <= endsAt + datedWithin);
