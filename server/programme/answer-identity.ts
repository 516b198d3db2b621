import { newId } from "../chance.ts";
import type { Lay } from "../domain/identity-trouble/lay.ts";
import { type IdentityQuestionId, reattributionId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { borrowerOfClinician } from "../store/clinic-people.ts";
import type { Database } from "../store/database.ts";
import {
  answerIdentityQuestion,
  exchangedBetween,
  type IdentityQuestionInFull,
  identityQuestionFor,
  insertReattribution,
  offered,
  reattributionsOf,
  takenFrom,
  undoReattribution,
} from "../store/identity.ts";
import { type LoanRow, loanById } from "../store/loans.ts";
import { askColleague } from "./ask-colleague.ts";
import { openPrivacyIncident } from "./privacy-incident.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface IdentityAnswer {
  readonly question: IdentityQuestionId;
  readonly answer: "confirmed" | "rejected";
  readonly reason: string;
  /** What becomes of the record: it stays, is nobody's, or changes places with the other loan's; where that is a
   *  colleague's person's, each files their own part. Or it is this person's, of a cushion that lay so. */
  readonly record: "keep" | "nobody" | "other" | Lay;
  readonly from: Instant;
  readonly until: Instant;
}

type AnswerRule =
  | "unknown-question"
  | "answered-already"
  | "needs-a-reason"
  | "span-outside-loan"
  | "no-other-loan"
  | "filed-already";

/** A person says whose record it was. A colleague's person is the colleague's to decide about: asked to change places with
 *  one, the record here is filed under nobody, and the colleague is asked about theirs; when they have confirmed it too,
 *  what both confirmed changes places. Confirmed, a span of it can be filed under another loan or under nobody; ledger
 *  and verdicts are then worked through again. What was recorded is not touched, and it can be undone. */
export function answerIdentity(
  services: Services,
  actor: StaffActor,
  given: IdentityAnswer,
): { readonly kind: "answered" } | Refused<AnswerRule> {
  const at = services.clock.now();
  const outcome = services.db.transaction(
    (tx) => {
      const asked = identityQuestionFor(tx, actor.id, given.question);
      if (!asked)
        return refused("unknown-question", "There is no such question about a person on your list.");
      if (asked.question.answer === "withdrawn")
        return refused("answered-already", "This is no longer asked: the unit itself explains it.");
      if (asked.question.answer !== null) return refused("answered-already", "This was answered meanwhile.");
      if (given.reason.trim() === "")
        return refused("needs-a-reason", "Say in a sentence how you know: who was asked, what was seen.");
      const moves = given.answer === "confirmed" ? movesOf(services, tx, actor, asked, given) : [];
      if (!Array.isArray(moves)) return moves;
      for (const move of moves)
        insertReattribution(tx, {
          id: reattributionId(newId(services.chance, "moved")),
          questionId: given.question,
          ...move,
          doneBy: actor.id,
          doneAt: at,
          undoneBy: null,
          undoneAt: null,
        });
      answerIdentityQuestion(tx, given.question, {
        answer: given.answer,
        reason: given.reason.trim(),
        answeredBy: actor.id,
        answeredAt: at,
      });
      if (given.answer === "confirmed" && asked.question.kind === "swapped")
        openPrivacyIncident(services, tx, actor, asked.question);
      const detail = {
        question: given.question,
        answer: given.answer,
        record: given.answer === "confirmed" ? given.record : "keep",
        from: given.from,
        until: given.until,
      };
      appendAudit(tx, {
        at,
        actor,
        action: "answer-whose-record",
        subject: `loan:${asked.question.loanId}`,
        detail,
      });
      return { kind: "answered", moved: moves.length > 0, borrower: asked.borrowerId } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("clinic", `person:${outcome.borrower}`);
  if (outcome.moved) services.live.changed("record-moved");
  return { kind: "answered" };
}

interface Move {
  readonly unitSerial: LoanRow["unitSerial"];
  readonly fromLoanId: LoanRow["id"];
  readonly toLoanId: LoanRow["id"] | null;
  readonly lay: Lay | null;
  readonly offeredTo: LoanRow["id"] | null;
  readonly startsAt: Instant;
  readonly endsAt: Instant;
}

function movesOf(
  services: Services,
  tx: Database,
  actor: StaffActor,
  { question }: IdentityQuestionInFull,
  { record, from, until }: IdentityAnswer,
): Move[] | Refused<AnswerRule> {
  const now = services.clock.now();
  if (record === "keep") return [];
  const loan = loanById(tx, question.loanId);
  if (!loan || !isWithin(loan, from, until, now))
    return refused("span-outside-loan", "The time has to lie within the loan, its end after its beginning.");
  const filed = { lay: null, offeredTo: null, startsAt: from, endsAt: until };
  const own = { ...filed, unitSerial: loan.unitSerial, fromLoanId: loan.id };
  if (record === "nobody") return [{ ...own, toLoanId: null }];
  if (record !== "other") {
    if (takenFrom(tx, loan.id, { start: from, end: until }).length > 0)
      return refused("filed-already", "Part of this time is filed otherwise already: undo that first.");
    return [{ ...own, toLoanId: loan.id, lay: record }];
  }
  const other = question.otherLoanId === null ? null : loanById(tx, question.otherLoanId);
  if (!other || !isWithin(other, from, until, now))
    return refused(
      "no-other-loan",
      "No other loan in force over that time is known to have changed places with it.",
    );
  const changesPlaces = (startsAt: Instant, endsAt: Instant): Move[] => [
    { ...own, startsAt, endsAt, toLoanId: other.id },
    { ...filed, startsAt, endsAt, unitSerial: other.unitSerial, fromLoanId: other.id, toLoanId: loan.id },
  ];
  if (borrowerOfClinician(tx, actor.id, other.borrowerId)) return changesPlaces(from, until);
  const confirmedByBoth = offered(tx, other.id, loan.id).flatMap(({ startsAt, endsAt }) => {
    const both = { start: instant(Math.max(startsAt, from)), end: instant(Math.min(endsAt, until)) };
    return both.start < both.end ? changesPlaces(both.start, both.end) : [];
  });
  if (confirmedByBoth.length === 0) askColleague(services, tx, actor, { question, loan, other, from, until });
  return [{ ...own, toLoanId: null, offeredTo: other.id }, ...confirmedByBoth];
}

const isWithin = (loan: LoanRow, from: Instant, until: Instant, now: Instant): boolean =>
  loan.startedAt !== null && from >= loan.startedAt && until > from && until <= (loan.endedAt ?? now);

/** Takes back everything that was filed elsewhere by this answer, and with it what a colleague filed because of it. Both
 *  stay on record. */
export function undoIdentity(
  services: Services,
  actor: StaffActor,
  id: IdentityQuestionId,
): { readonly kind: "undone" } | Refused<"unknown-question" | "nothing-to-undo"> {
  const at = services.clock.now();
  const outcome = services.db.transaction(
    (tx) => {
      const asked = identityQuestionFor(tx, actor.id, id);
      if (!asked)
        return refused("unknown-question", "There is no such question about a person on your list.");
      const open = reattributionsOf(tx, id).filter(({ undoneAt }) => undoneAt === null);
      if (open.length === 0) return refused("nothing-to-undo", "Nothing of it is filed elsewhere.");
      const withColleague = open.flatMap(({ fromLoanId, offeredTo }) =>
        offeredTo === null ? [] : exchangedBetween(tx, fromLoanId, offeredTo),
      );
      for (const one of [...open, ...withColleague])
        if (one.undoneAt === null) undoReattribution(tx, one.id, actor.id, at);
      appendAudit(tx, {
        at,
        actor,
        action: "undo-whose-record",
        subject: `loan:${asked.question.loanId}`,
        detail: { question: id, moves: open.length },
      });
      return { kind: "undone", borrower: asked.borrowerId } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("clinic", `person:${outcome.borrower}`, "record-moved");
  return { kind: "undone" };
}
