import { newId } from "../chance.ts";
import { type LoanId, type NoteId, noteId } from "../domain/ids.ts";
import type { LoanNoteKind } from "../domain/lifecycle/loan-note.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { insertLoanNote } from "../store/loan-notes.ts";
import { loanById } from "../store/loans.ts";

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

/** Writes down what is known of a loan's time: a hospital stay, a holiday, a washed cover. Gaps are judged with it. */
export function noteOnLoan(
  services: Services,
  actor: StaffActor,
  request: NoteOnLoanRequest,
): { readonly kind: "noted"; readonly note: NoteId } | Refused<NoteOnLoanRule> {
  const outcome = services.db.transaction(
    (tx) => {
      const loan = loanById(tx, request.loan);
      if (loan === null) return refused("unknown-loan", "There is no such loan.");
      if (request.until !== null && request.until <= request.from)
        return refused("ends-before-it-begins", "The end has to come after the beginning.");
      const now = services.clock.now();
      const id = noteId(newId(services.chance, "note"));
      insertLoanNote(tx, {
        id,
        loanId: loan.id,
        kind: request.kind,
        fromAt: request.from,
        untilAt: request.until,
        text: request.text,
        writtenBy: actor.id,
        writtenAt: now,
      });
      // The note's text may name people, so the audit says only that there is one.
      appendAudit(tx, {
        at: now,
        actor,
        action: "note-on-loan",
        subject: `loan:${loan.id}`,
        detail: { note: id, noteKind: request.kind, from: request.from, until: request.until },
      });
      return { kind: "noted", note: id, loan } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("stores", "clinic", `loan:${request.loan}`, `person:${outcome.loan.borrowerId}`);
  return { kind: "noted", note: outcome.note };
}
