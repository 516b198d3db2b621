import type { BorrowerId, LoanId, StretchId } from "../ids.ts";
import { type Instant, type Milliseconds, milliseconds, millisecondsIn } from "../units.ts";
import type { StretchKind, Verdict } from "./verdict.ts";

/** A stretch with its person and what is held of it now. */
export interface OpenQuestion {
  readonly id: StretchId;
  readonly loan: LoanId;
  readonly borrower: BorrowerId;
  readonly name: string;
  readonly kind: StretchKind;
  readonly start: Instant;
  readonly end: Instant | null;
  /** Late data have filled it: nothing is left to ask, but a shared silence is still told. */
  readonly filled: boolean;
  readonly verdict: Verdict;
}

/** One row of the clinic's list: one question, or several of one person with the same likely cause. */
export interface WorklistEntry {
  readonly questions: readonly [OpenQuestion, ...OpenQuestion[]];
  /** How long they lasted together; one that goes on, until now. */
  readonly lasted: Milliseconds;
}

export interface ClinicWorklist {
  readonly entries: readonly WorklistEntry[];
  /** Gaps with a cause that many homes shared: one line, and nobody is asked about them. */
  readonly together: readonly OpenQuestion[];
  /** Long sits that look ordinary for the person: counted, not listed. */
  readonly ordinary: number;
}

const sharedCauses: readonly string[] = ["programme-link", "area-outage"];

/** What a clinician has to look at, worst for the person first, then longest waiting. */
export function clinicWorklist(questions: readonly OpenQuestion[], now: Instant): ClinicWorklist {
  const together = questions.filter(isShared);
  const ordinary = questions.filter(isOrdinary);
  const rows = new Map<string, WorklistEntry["questions"]>();
  for (const question of questions) {
    if (isShared(question) || isOrdinary(question) || question.filled) continue;
    const key = `${question.loan} ${question.kind} ${question.end === null && question.kind === "gap"} ${leadingCause(question)}`;
    const before = rows.get(key);
    rows.set(key, before ? [...before, question] : [question]);
  }
  const entries = [...rows.values()]
    .map((all): WorklistEntry => ({ questions: all, lasted: lastedTogether(all, now) }))
    .sort((a, b) => harm(b, now) - harm(a, now) || a.questions[0].start - b.questions[0].start);
  return { entries, together, ordinary: ordinary.length };
}

const lastedTogether = (questions: readonly OpenQuestion[], now: Instant): Milliseconds =>
  milliseconds(questions.reduce((sum, { start, end }) => sum + ((end ?? now) - start), 0));

const leadingCause = ({ verdict }: OpenQuestion): string => verdict.causes[0]?.cause ?? "";

const isShared = (question: OpenQuestion): boolean =>
  question.kind === "gap" &&
  question.verdict.outcome === "link" &&
  sharedCauses.includes(leadingCause(question));

const isOrdinary = (question: OpenQuestion): boolean =>
  question.kind === "thin" && leadingCause(question) === "ordinary";

/** How much harm may come of leaving it: an unwatched person first, then a likely change of theirs, then a record
 *  that can't be believed, then what is over. Order is an assumption (common practice, no source). */
function harm({ questions }: WorklistEntry, now: Instant): number {
  const [first] = questions;
  const { kind, end, verdict, start } = first;
  if (kind === "gap") {
    if (end === null) return now - start >= 24 * millisecondsIn.hour ? 6 : 4;
    return verdict.outcome === "not-settled" ? 2 : 1;
  }
  if (verdict.leadingSide === "person") return 5;
  return verdict.outcome === "device" ? 4 : 3;
}
