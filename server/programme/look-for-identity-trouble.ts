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
import { type IdentityQuestionId, identityQuestionId, type LoanId, type UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { openFindingsOf } from "../store/findings.ts";
import {
  type IdentityQuestionRow,
  identityQuestionsOfLoan,
  insertIdentityQuestion,
  loansWeighedOtherwise,
  nameOtherLoan,
  unansweredSwaps,
} from "../store/identity.ts";
import { type LoanRow, loanById, openLoanOfUnit } from "../store/loans.ts";
import { loanRecord } from "./loan-record.ts";
import { couldExplain, loadFindingsOf, withdrawExplained } from "./withdraw-identity.ts";

/** Asks whether what a unit recorded lately fits the person it is filed under. A question that is open, or that was
 *  answered about the same days, is not asked again; an open one that the grid explains by now is withdrawn. */
export async function lookForIdentityTrouble(services: Services, unit: UnitSerial): Promise<void> {
  const loan = openLoanOfUnit(services.db, unit);
  if (!loan || loan.startedAt === null) return;
  withdrawExplained(services, loan);
  const now = services.clock.now();
  const lately = instant(now - lookedAt.lately);
  const sits = await sitsOf(services, loan, now);
  const troubles = identityTroubles(sits, lately);
  const swap = troubles.find(({ kind }) => kind === "swapped");
  const other = swap ? await changedPlacesWith(services, loan.id, sits, swap.span.start) : null;
  // A grid that has gone partly blind, or weighs otherwise, changes the loads: that is the cushion, not the person.
  const findings = loadFindingsOf(services.db, unit);
  const byLoad = troubles.filter(
    (trouble) => !findings.some(({ kind }) => couldExplain(kind, trouble.kind, other !== null)),
  );
  const found = [...byLoad, ...turned(services, unit, now)].filter(
    (trouble) => !identityQuestionsOfLoan(services.db, loan.id).some((asked) => covers(asked, trouble)),
  );
  if (found.length === 0) return;
  services.db.transaction((tx) => {
    for (const trouble of found) {
      const id = identityQuestionId(newId(services.chance, "question"));
      insertIdentityQuestion(tx, {
        id,
        kind: trouble.kind,
        loanId: loan.id,
        otherLoanId: trouble.kind === "swapped" ? (other?.loanId ?? null) : null,
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
      if (trouble.kind === "swapped" && other?.asked) nameOtherLoan(tx, other.asked, loan.id);
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

/** @param since when the load became another */
function loanSits(sits: readonly SitSummary[], lately: Instant, since: Instant): LoanSits | null {
  const own = ownSitting(sits.filter(({ start }) => start < lately));
  return own ? { own, recent: sits.filter(({ start }) => start >= since) } : null;
}

interface OtherLoan {
  readonly loanId: LoanId;
  /** The question that was asked about it without its knowing of this one; null: none was. */
  readonly asked: IdentityQuestionId | null;
}

/** Another loan whose load changed in the same days and that this one has changed places with: one that was asked about,
 *  or whose unit weighs otherwise since. */
async function changedPlacesWith(
  services: Services,
  loan: LoanId,
  sits: readonly SitSummary[],
  since: Instant,
): Promise<OtherLoan | null> {
  const now = services.clock.now();
  const lately = instant(now - lookedAt.lately);
  const own = loanSits(sits, lately, since);
  if (!own) return null;
  const candidates: OtherLoan[] = [
    ...unansweredSwaps(services.db).map(({ id, loanId }) => ({ loanId, asked: id })),
    ...loansWeighedOtherwise(services.db, lately, mostCandidates).map((loanId) => ({ loanId, asked: null })),
  ];
  for (const candidate of candidates) {
    const other = candidate.loanId === loan ? null : loanById(services.db, candidate.loanId);
    if (!other) continue;
    const theirs = loanSits(await sitsOf(services, other, now), lately, since);
    if (theirs && changedPlaces(own, theirs)) return candidate;
  }
  return null;
}

/** Each costs the reading of four weeks. */
const mostCandidates = 50;

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
