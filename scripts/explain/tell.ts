import { addCounts, boundsOf, type ReliefCounts } from "../../server/domain/adherence/bounds.ts";
import { ownRhythmRange } from "../../server/domain/adherence/own-rhythm.ts";
import { type LoanId, loanId } from "../../server/domain/ids.ts";
import type { MinuteState } from "../../server/domain/ledger/minute-state.ts";
import { notedAway } from "../../server/domain/lifecycle/noted-away.ts";
import { isWeekend } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import type { Stretch, Verdict } from "../../server/domain/verdicts/verdict.ts";
import type { Services } from "../../server/services.ts";
import { type IdentityQuestionRow, identityQuestionsOfLoan } from "../../server/store/identity.ts";
import { incidentsSince, unitsOfIncidents } from "../../server/store/incidents.ts";
import { ledgerDaysOf, type ReviewedDay } from "../../server/store/ledger-days.ts";
import { notesOfLoan } from "../../server/store/loan-notes.ts";
import { loanById } from "../../server/store/loans.ts";
import { reliefPlansOf } from "../../server/store/relief-plans.ts";
import { stretchesOf } from "../../server/store/stretches.ts";
import { verdictHistory } from "../../server/store/verdicts.ts";
import type { Manifest } from "./manifest.ts";
import { momentOrNull, momentText } from "./moment.ts";

/** What the service holds of a case, as plain JSON. FORMAT.md says what each field is. */
export async function tell(services: Services, manifest: Manifest) {
  const loans = manifest.loans
    .map(({ id }) => loanById(services.db, loanId(id)))
    .filter((loan) => loan !== null)
    .map((loan) => {
      const days = ledgerDaysOf(services.db, loan.id);
      const stretches = stretchesOf(services.db, loan.id);
      const ofKind = (kind: Stretch["kind"]) =>
        stretches.filter((one) => one.kind === kind).map((one) => tellStretch(services, one));
      return {
        loan: loan.id,
        unit: loan.unitSerial,
        person: loan.borrowerId,
        startedAt: momentOrNull(loan.startedAt),
        endedAt: momentOrNull(loan.endedAt),
        planInForce: reliefPlansOf(services.db, loan.borrowerId).length > 0,
        days: days.map(tellDay),
        gaps: ofKind("gap"),
        thinStretches: ofKind("thin"),
        questions: identityQuestionsOfLoan(services.db, loan.id).map(tellQuestion),
        adherence: adherenceOf(services, [loan.id]),
      };
    });
  const kept = await services.telemetry.keptAside();
  return {
    loans,
    people: manifest.people.map(({ id }) => ({
      person: id,
      adherence: adherenceOf(
        services,
        loans.filter(({ person }) => person === id).map(({ loan }) => loan),
      ),
    })),
    incidents: tellIncidents(services),
    keptAside: kept.map(({ unit, messages, lastReason }) => ({ unit, messages, lastReason })),
  };
}

/** Minutes of the loan only; they add up to the day, with what is outside the loan or still to come. */
const tellDay = ({ day, start, end, minutes, due }: ReviewedDay) => ({
  day,
  minutesInDay: (end - start) / 60_000,
  minutes: minutes satisfies Readonly<Record<MinuteState, number>>,
  due: countsOf(due),
});

const countsOf = (due: ReviewedDay["due"]): ReliefCounts => ({
  met: due.filter(({ outcome }) => outcome === "met").length,
  missed: due.filter(({ outcome }) => outcome === "missed").length,
  notAssessable: due.filter(({ outcome }) => outcome === "not-assessable").length,
});

function adherenceOf({ db }: Services, loans: readonly LoanId[]) {
  const rhythm = loans.flatMap((loan) => {
    const notes = notesOfLoan(db, loan);
    return ledgerDaysOf(db, loan).map((day) => ({
      start: day.start,
      weekend: isWeekend(day.day),
      runs: day.runs,
      counts: countsOf(day.due),
      away: notedAway(notes, day),
    }));
  });
  const counts = addCounts(rhythm.map((day) => day.counts));
  return { ...counts, bounds: boundsOf(counts), ownRhythm: ownRhythmRange(rhythm, rhythm) };
}

const tellQuestion = (asked: IdentityQuestionRow) => ({
  kind: asked.kind,
  start: momentText(asked.startsAt),
  end: momentOrNull(asked.endsAt),
  foundAt: momentText(asked.foundAt),
  probability: asked.probability / 1e6,
  evidence: asked.evidence,
});

/** Oldest first. */
function tellIncidents({ db }: Services) {
  const incidents = incidentsSince(db, instant(0)).toReversed();
  const units = unitsOfIncidents(
    db,
    incidents.map(({ id }) => id),
  );
  return incidents.map(({ id, scope, scopeName, expected, startsAt, endsAt, foundAt }) => ({
    scope,
    scopeName,
    start: momentText(startsAt),
    end: momentOrNull(endsAt),
    foundAt: momentText(foundAt),
    expected,
    units: units
      .filter(({ incidentId }) => incidentId === id)
      .map(({ loanId: loan, unitSerial: unit, silentFrom, backAt }) => ({
        loan,
        unit,
        silentFrom: momentText(silentFrom),
        backAt: momentOrNull(backAt),
      })),
  }));
}

function tellStretch(services: Services, stretch: Stretch) {
  const [held, ...earlier] = verdictHistory(services.db, stretch.id);
  return {
    start: momentText(stretch.start),
    end: momentOrNull(stretch.end),
    minutes: stretch.end === null ? null : (stretch.end - stretch.start) / 60_000,
    firstSeenAt: momentText(stretch.firstSeenAt),
    filledAt: momentOrNull(stretch.filledAt),
    verdict: held ? { computedAt: momentText(held.computedAt), ...tellVerdict(held.verdict) } : null,
    earlierVerdicts: earlier.map(({ verdict, computedAt, supersededAt }) => ({
      computedAt: momentText(computedAt),
      supersededAt: momentOrNull(supersededAt),
      outcome: verdict.outcome,
      leadingSide: verdict.leadingSide,
      probability: verdict.probability,
      sentence: verdict.sentence,
    })),
  };
}

const tellVerdict = ({ span, ...verdict }: Verdict) => ({
  ...verdict,
  span: { start: momentText(span.start), end: momentText(span.end) },
});
