import { newId } from "../chance.ts";
import {
  changedPlaces,
  type IdentityTrouble,
  identityTroubles,
  type LoanSits,
  lookedAt,
} from "../domain/identity-trouble/identity-trouble.ts";
import { ownSitting } from "../domain/identity-trouble/own-sitting.ts";
import { type SitSummary, sitSummaries } from "../domain/identity-trouble/sit-summaries.ts";
import { identityQuestionId, type LoanId, type UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { loansWithOpenFinding, openFindingsOf } from "../store/findings.ts";
import {
  type IdentityQuestionRow,
  identityQuestionsOfLoan,
  insertIdentityQuestion,
  nameOtherLoan,
  unansweredSwaps,
} from "../store/identity.ts";
import { type LoanRow, loanById, openLoanOfUnit } from "../store/loans.ts";
import { loanRecord } from "./loan-record.ts";
import { gridFindingsOf, loadStep, withdrawExplained } from "./withdraw-identity.ts";

/** Asks whether what a unit recorded lately fits the person it is filed under. A question that is open, or that was
 *  answered about the same days, is not asked again; an open one that the grid explains by now is withdrawn. */
export async function lookForIdentityTrouble(services: Services, unit: UnitSerial): Promise<void> {
  const loan = openLoanOfUnit(services.db, unit);
  if (!loan || loan.startedAt === null) return;
  withdrawExplained(services, loan);
  const now = services.clock.now();
  const lately = instant(now - lookedAt.lately);
  const sits = await sitsOf(services, loan, now);
  // A grid that has gone partly blind, or weighs otherwise, changes every load: that is the cushion, not the person.
  const faults = gridFindingsOf(services.db, unit);
  const byLoad = faults.every(({ kind }) => kind === loadStep) ? identityTroubles(sits, lately) : [];
  const news = [...byLoad, ...turned(services, unit, now)].filter(
    (trouble) => !identityQuestionsOfLoan(services.db, loan.id).some((asked) => covers(asked, trouble)),
  );
  if (news.length === 0) return;
  const isSwap = news.some(({ kind }) => kind === "swapped");
  const other = isSwap ? await changedPlacesWith(services, loan.id, loanSits(sits, lately), now) : null;
  // A load that fell may be the cushion's, unless another's has risen to what it was.
  const found = news.filter(
    ({ kind }) => faults.length === 0 || kind === "turned" || (kind === "swapped" && other),
  );
  if (found.length === 0) return;
  services.db.transaction((tx) => {
    for (const trouble of found) {
      const id = identityQuestionId(newId(services.chance, "question"));
      insertIdentityQuestion(tx, {
        id,
        kind: trouble.kind,
        loanId: loan.id,
        otherLoanId: trouble.kind === "swapped" ? (other?.loan ?? null) : null,
        startsAt: trouble.span.start,
        endsAt: trouble.span.end,
        foundAt: now,
        probability: Math.round(trouble.probability * 1e6),
        evidence: trouble.evidence,
        answer: null,
        reason: null,
        answeredBy: null,
        answeredAt: null,
      });
      if (trouble.kind === "swapped" && other?.question) nameOtherLoan(tx, other.question, loan.id);
      appendAudit(tx, {
        at: now,
        actor: { kind: "system" },
        action: "ask-whose-record",
        subject: `loan:${loan.id}`,
        detail: { question: id, trouble: trouble.kind },
      });
    }
  });
  services.live.changed("clinic", `person:${loan.borrowerId}`);
}

/** One that is still open, or was answered after these days. A withdrawn one has not been answered: should the grid turn
 *  out to have been in order, it is asked again. */
const covers = (asked: IdentityQuestionRow, { kind, span }: IdentityTrouble): boolean =>
  asked.kind === kind &&
  asked.answer !== "withdrawn" &&
  (asked.answer === null || (asked.answeredAt ?? 0) >= span.start);

async function sitsOf(services: Services, loan: LoanRow, now: Instant): Promise<SitSummary[]> {
  const start = instant(Math.max(loan.startedAt ?? now, now - lookedAt.lately - lookedAt.before));
  const { record } = await loanRecord(services, loan, { start, end: now });
  return sitSummaries(record.minutes);
}

function loanSits(sits: readonly SitSummary[], lately: Instant): LoanSits | null {
  const own = ownSitting(sits.filter(({ start }) => start < lately));
  return own ? { own, recent: sits.filter(({ start }) => start >= lately) } : null;
}

/** Another loan whose load changed in the same days and that this one has changed places with. */
async function changedPlacesWith(
  services: Services,
  loan: LoanId,
  own: LoanSits | null,
  now: Instant,
): Promise<{ readonly loan: LoanId; readonly question: IdentityQuestionRow["id"] | null } | null> {
  if (!own) return null;
  const asked = unansweredSwaps(services.db).map(({ id, loanId }) => ({ loan: loanId, question: id }));
  const stepped = loansWithOpenFinding(services.db, loadStep).map((id) => ({ loan: id, question: null }));
  for (const candidate of [...asked, ...stepped]) {
    const other = candidate.loan === loan ? null : loanById(services.db, candidate.loan);
    if (!other) continue;
    const theirs = loanSits(await sitsOf(services, other, now), instant(now - lookedAt.lately));
    if (theirs && changedPlaces(own, theirs)) return candidate;
  }
  return null;
}

/** The grid's own assessment tells that it lies otherwise; who sat on it is not in doubt, only which way round. */
const turned = ({ db }: Services, unit: UnitSerial, now: Instant): IdentityTrouble[] =>
  openFindingsOf(db, unit)
    .filter(({ kind, judgement }) => kind === "insert-turned" && judgement !== "refuted")
    .map(({ since, sentence, probability }) => ({
      kind: "turned",
      span: { start: since, end: now },
      evidence: [sentence],
      probability,
    }));
