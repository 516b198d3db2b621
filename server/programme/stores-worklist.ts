import { inOrderOfHarm, type StoresTask } from "../domain/lifecycle/stores-task.ts";
import { dayBounds, type LocalDay, localDayOf, type ZoneName } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import { loansAwayAt } from "../store/loan-notes.ts";
import {
  endedLoansComingBack,
  type LoanInFull,
  latestCodeExpiryOfLoansNotStarted,
  loansDueBackBy,
  loansNotStarted,
} from "../store/loans.ts";
import { loansQuietNow } from "../store/quiet-loans.ts";
import { allRecalls, recallsBarringIssue } from "../store/recalls.ts";
import { plannedVisits, type VisitInFull, visitsWithoutAccess } from "../store/visits.ts";
import { heldTogether } from "./incident-lines.ts";

type HandOutTask = Extract<StoresTask, { kind: "hand-out" }>;

/** What has to move today. Reads only; the number of queries does not grow with the number of rows. */
export function storesWorklist(services: Services): readonly StoresTask[] {
  const { db, zone } = services;
  const now = services.clock.now();
  const today = localDayOf(now, zone);
  const planned = plannedVisits(db);
  const hasVisit = new Set(planned.map((visit) => visit.loanId));
  return inOrderOfHarm([
    ...recallTasks(db),
    ...planned.filter((visit) => visit.day <= today).map((visit) => visitTask(visit, today, zone)),
    ...noAccessTasks(db, now).filter((task) => !hasVisit.has(task.loan)),
    ...quietTasks(services),
    ...handOutTasks(db, now).filter((task) => !hasVisit.has(task.loan)),
    ...loansDueBackBy(db, today)
      .filter((loan) => !hasVisit.has(loan.id))
      .map((loan) => dueBackTask(loan, today, zone)),
    ...endedLoansComingBack(db).map(
      (loan): StoresTask => ({ ...ofLoan(loan), kind: "coming-back", since: loan.placeSince }),
    ),
  ]);
}

const ofLoan = (loan: LoanInFull) => ({
  loan: loan.id,
  reference: loan.reference,
  unit: loan.unitSerial,
  borrower: loan.borrowerName,
});

function recallTasks(db: Database): readonly StoresTask[] {
  return allRecalls(db)
    .filter((recall) => recall.closedAt === null)
    .map((recall): StoresTask => {
      const of = {
        recall: recall.id,
        reference: recall.reference,
        title: recall.title,
        since: recall.openedAt,
      };
      return recall.outstanding > 0
        ? { ...of, kind: "recall-outstanding", outstanding: recall.outstanding, affected: recall.affected }
        : { ...of, kind: "recall-to-close" };
    });
}

const ofVisit = (visit: VisitInFull) => ({
  loan: visit.loanId,
  reference: visit.loanReference,
  unit: visit.unitSerial,
  borrower: visit.borrowerName,
  task: visit.kind,
  day: visit.day,
});

const visitTask = (visit: VisitInFull, today: LocalDay, zone: ZoneName): StoresTask => ({
  ...ofVisit(visit),
  kind: "visit",
  visit: visit.id,
  overdue: visit.day < today,
  doneBy: visit.doneByName,
  replacement: visit.replacementSerial,
  since: dayBounds(visit.day, zone).start,
});

/** One row a loan: the latest attempt. */
function noAccessTasks(db: Database, now: Instant): readonly Extract<StoresTask, { kind: "no-access" }>[] {
  const away = loansAwayAt(db, now);
  const latest = new Map(visitsWithoutAccess(db).map((visit) => [visit.loanId, visit]));
  return [...latest.values()].map((visit) => ({
    ...ofVisit(visit),
    kind: "no-access",
    away: away.get(visit.loanId) ?? null,
    since: visit.closedAt ?? visit.createdAt,
  }));
}

/** Only where the cheapest thing that would settle it is a call that Stores can make. */
function quietTasks(services: Services): readonly StoresTask[] {
  const { holds } = heldTogether(services, null);
  return loansQuietNow(services.db).flatMap((quiet): StoresTask[] => {
    // Silent with many others: one line tells it for all, and nobody is rung about it.
    if (holds({ loan: quiet.loanId, start: quiet.since, end: null }) !== null) return [];
    const first = quiet.settle[0];
    if (first === undefined || first.desk !== "stores") return [];
    return [
      {
        kind: "quiet",
        loan: quiet.loanId,
        reference: quiet.reference,
        unit: quiet.unitSerial,
        borrower: quiet.borrowerName,
        phone: quiet.phone,
        since: quiet.since,
        test: first.sentence,
      },
    ];
  });
}

/** A unit that a planned visit will take away again is not handed out meanwhile. */
function handOutTasks(db: Database, now: Instant): readonly HandOutTask[] {
  const expiries = latestCodeExpiryOfLoansNotStarted(db);
  const barring = recallsBarringIssue(db);
  return loansNotStarted(db).map(
    (loan): HandOutTask => ({
      ...ofLoan(loan),
      kind: "hand-out",
      since: loan.openedAt,
      code: codeToHandOut(barring.get(loan.unitSerial) ?? [], expiries.get(loan.id), now),
    }),
  );
}

function codeToHandOut(
  recalls: readonly string[],
  until: Instant | undefined,
  now: Instant,
): HandOutTask["code"] {
  if (recalls.length > 0) return { state: "barred", recalls };
  if (until === undefined) return { state: "none" };
  return until > now ? { state: "usable", until } : { state: "expired", at: until };
}

const dueBackTask = (loan: LoanInFull, today: LocalDay, zone: ZoneName): StoresTask => {
  const day = loan.dueBackOn ?? today;
  return { ...ofLoan(loan), kind: "due-back", day, overdue: day < today, since: dayBounds(day, zone).start };
};
