import { newId } from "../chance.ts";
import { type LoanId, type NoteId, noteId } from "../domain/ids.ts";
import type { LoanNoteKind } from "../domain/lifecycle/loan-note.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { insertLoanNote } from "../store/loan-notes.ts";
import { loanById } from "../store/loans.ts";
import { judgeAgain } from "./judge-again.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface NoteOnLoanRequest {
  readonly loan: LoanId;
  readonly kind: LoanNoteKind;
  readonly from: Instant;
  /** null: it goes on, or it was a moment. */
  readonly until: Instant | null;
  readonly text: string;
}

type NoteOnLoanRule = "unknown-loan" | "ends-before-it-begins";

/** A note bears on stretches for some days after it; see the contexts of gaps and thin stretches. */
const bearsFor = 6 * 24 * millisecondsIn.hour;

/** Writes down what is known of a loan's time: a hospital stay, a holiday, a washed cover. Gaps and thin stretches over
 *  that time are judged again with it, whoever wrote it. */
export async function noteOnLoan(
  services: Services,
  actor: StaffActor,
  request: NoteOnLoanRequest,
): Promise<{ readonly kind: "noted"; readonly note: NoteId } | Refused<NoteOnLoanRule>> {
  const outcome = services.db.transaction(
    (tx) => {
      const loan = loanById(tx, request.loan);
      if (loan === null) return refused("unknown-loan", "There is no such loan.");
      if (request.until !== null && request.until <= request.from)
        return refused("ends-before-it-begins", "The end has to come after the beginning.");
      return { kind: "noted", note: noteWithin(services, tx, actor, request), loan } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("stores", "clinic", `loan:${request.loan}`, `person:${outcome.loan.borrowerId}`);
  await judgeWithNote(services, request);
  return { kind: "noted", note: outcome.note };
}

/** In the transaction of whatever learned it. */
export function noteWithin(
  services: Services,
  tx: Database,
  actor: StaffActor,
  { loan, kind, from, until, text }: NoteOnLoanRequest,
): NoteId {
  const now = services.clock.now();
  const id = noteId(newId(services.chance, "note"));
  insertLoanNote(tx, {
    id,
    loanId: loan,
    kind,
    fromAt: from,
    untilAt: until,
    text,
    writtenBy: actor.id,
    writtenAt: now,
  });
  // The note's text may name people, so the audit says only that there is one.
  appendAudit(tx, {
    at: now,
    actor,
    action: "note-on-loan",
    subject: `loan:${loan}`,
    detail: { note: id, noteKind: kind, from, until },
  });
  return id;
}

export async function judgeWithNote(services: Services, note: NoteOnLoanRequest): Promise<void> {
  const loan = loanById(services.db, note.loan);
  if (loan === null || loan.startedAt === null) return;
  const end = instant((note.until ?? services.clock.now()) + bearsFor);
  if (end > note.from) await judgeAgain(services, loan, { start: note.from, end });
}
