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

/** Under any of these no load that the grid tells is to be believed. */
const brokenFindings: readonly FindingKind[] = [
  "row-open",
  "column-open",
  "cell-open",
  "cell-stuck",
  "lines-shorted",
  "connector-loose",
  "moisture",
];
/** Another body on the insert can look so too. */
const insertFindings: readonly FindingKind[] = ["insert-turned", "insert-shifted", "insert-folded"];
/** These make every load another from some day on. A load that is another now and then, the usual one in between, they
 *  don't explain. */
const steadyFindings: readonly FindingKind[] = ["foam-bottoming", "zero-drift", "gain-or-weight"];
/** Troubles that were seen in the loads alone. */
const askedByLoad: readonly IdentityTroubleKind[] = ["swapped", "two-people", "object", "other-seat"];
/** A finding is dated by an assessment, and there is one a day. Assumption. */
const datedWithin = 24 * millisecondsIn.hour;

/** Findings that stand, not refuted by anybody, under which a load may say nothing of who sat there. */
export const loadFindingsOf = (db: Database, unit: UnitSerial): readonly FindingRow[] =>
  openFindingsOf(db, unit).filter(
    ({ kind, judgement }) =>
      [...brokenFindings, ...insertFindings, ...steadyFindings].includes(kind) && judgement !== "refuted",
  );

/** Two loads that have changed places are no drift of either unit: both at once, and each into the other's. */
export function couldExplain(
  finding: FindingKind,
  trouble: IdentityTroubleKind,
  changedPlaces: boolean,
): boolean {
  if (!askedByLoad.includes(trouble)) return false;
  if (brokenFindings.includes(finding)) return true;
  if (changedPlaces) return false;
  return insertFindings.includes(finding) || (trouble === "swapped" && steadyFindings.includes(finding));
}

/** Takes back what was asked about a person before it was known that the grid tells their loads wrongly: the cushion is
 *  the nearer explanation, and nobody should be rung about it. What somebody has answered stays. */
export function withdrawExplained(services: Services, loan: LoanRow): void {
  const at = services.clock.now();
  const withdrawn = services.db.transaction(
    (tx) => {
      const findings = loadFindingsOf(tx, loan.unitSerial);
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
  { kind: finding, since }: FindingRow,
  { kind, answer, endsAt, otherLoanId }: IdentityQuestionRow,
): boolean =>
  answer === null &&
  couldExplain(finding, kind, otherLoanId !== null) &&
  (endsAt === null || since <= endsAt + datedWithin);
