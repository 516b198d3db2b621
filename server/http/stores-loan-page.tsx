import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { LoanPage } from "../../views/stores/loan-page.tsx";
import type { TimelineEntry } from "../../views/stores/loan-timeline.tsx";
import { codeState } from "../domain/enrolment/pairing-code-state.ts";
import { type LoanId, loanId } from "../domain/ids.ts";
import { loanNoteKinds, loanNoteWords } from "../domain/lifecycle/loan-note.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { notesOfLoan } from "../store/loan-notes.ts";
import { type LoanInFull, loanById, loanFollowing, loanInFullById } from "../store/loans.ts";
import { pairingCodesOfLoan, type StoredPairingCode } from "../store/pairing-codes.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { visitsOfLoan } from "../store/visits.ts";
import type { AppContext } from "./route.ts";
import { storesFrame } from "./stores-frame.ts";

const toldSentences: Readonly<Record<string, string>> = {
  opened: "The loan is open. Issue its pairing code next, and print it for the hand-over.",
  ended: "The loan has ended. Its certificate is revoked and its unused codes are withdrawn.",
  noted: "The note is saved.",
  withdrawn: "The code is withdrawn.",
  planned: "The visit is planned.",
};

export interface Again {
  readonly problems: Problems;
  readonly typed: Typed;
  readonly status: 409 | 422;
}

export const loanOf = (services: Services, context: AppContext): LoanInFull | null =>
  loanInFullById(services.db, loanId(context.req.param("id") ?? ""));

/** The page of one loan, as it stands; `again`: a form on it that could not be accepted. */
export async function showLoan(services: Services, context: AppContext, again?: Again) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const now = services.clock.now();
  const codes = pairingCodesOfLoan(services.db, loan.id);
  const newest = codes[0];
  const visits = visitsOfLoan(services.db, loan.id);
  const recorded = await services.telemetry.lastRecordedAt([loan.unitSerial]);
  const last = recorded.get(loan.unitSerial) ?? null;
  return context.html(
    <LoanPage
      frame={storesFrame(services, context, "/stores/loans")}
      loan={loan}
      code={newest === undefined ? null : { ...newest, state: codeState(newest, now) }}
      barredBy={recallsBarringIssue(services.db).get(loan.unitSerial) ?? []}
      // What an earlier loan recorded with the same unit says nothing of this one.
      lastRecordedAt={last !== null && last >= (loan.startedAt ?? loan.openedAt) ? last : null}
      plannedVisit={visits.find((visit) => visit.status === "planned") ?? null}
      timeline={timelineOf(services, loan, codes, now)}
      follows={loan.followsLoanId === null ? null : loanById(services.db, loan.followsLoanId)}
      followedBy={loanFollowing(services.db, loan.id)}
      noteKinds={loanNoteKinds}
      told={toldSentences[context.req.query("told") ?? ""]}
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again?.status ?? 200,
  );
}

function timelineOf(
  services: Services,
  loan: LoanInFull,
  codes: readonly StoredPairingCode[],
  now: Instant,
): readonly TimelineEntry[] {
  return [
    { at: loan.openedAt, words: `Loan opened: ${loan.unitSerial}, ${loan.modelName}, ${loan.size}.` },
    ...codes.flatMap((code) => codeEntries(code, now)),
    ...noteEntries(services, loan.id),
    ...visitEntries(services, loan.id),
    ...(loan.endedAt === null
      ? []
      : [{ at: loan.endedAt, words: `Loan ended: ${loan.endReason ?? "no reason given"}.` }]),
  ];
}

function codeEntries(code: StoredPairingCode, now: Instant): TimelineEntry[] {
  const entries: TimelineEntry[] = [{ at: code.issuedAt, words: "Pairing code issued." }];
  if (code.spentAt !== null) entries.push({ at: code.spentAt, words: "Code claimed: the unit enrolled." });
  if (code.withdrawnAt !== null) entries.push({ at: code.withdrawnAt, words: "Pairing code withdrawn." });
  if (codeState(code, now) === "expired")
    entries.push({ at: code.expiresAt, words: "Pairing code expired unused." });
  return entries;
}

const noteEntries = (services: Services, loan: LoanId): TimelineEntry[] =>
  notesOfLoan(services.db, loan).map((note) => ({
    at: note.fromAt,
    words: `${loanNoteWords[note.kind]}.`,
    note: { text: note.text, by: note.writerName, until: note.untilAt },
  }));

function visitEntries(services: Services, loan: LoanId): TimelineEntry[] {
  const closed = {
    done: "done",
    cancelled: "cancelled",
    "no-access": "not done: nobody could let us in",
  } as const;
  return visitsOfLoan(services.db, loan).flatMap((visit) => {
    const task = visit.kind === "swap" ? "Swap" : "Collection";
    const entries: TimelineEntry[] = [
      {
        at: visit.createdAt,
        words: `${task} planned for ${visit.doneByName}.`,
        note: { text: visit.reason, by: "", until: null },
      },
    ];
    if (visit.closedAt !== null && visit.status !== "planned")
      entries.push({ at: visit.closedAt, words: `${task} ${closed[visit.status]}.` });
    return entries;
  });
}
