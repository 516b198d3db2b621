import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { BorrowerId, LoanId } from "../domain/ids.ts";
import { type LedgerRun, minuteStates } from "../domain/ledger/minute-state.ts";
import { entriesWithin, firstFrom } from "../domain/record/entries-within.ts";
import { isWeekend, type LocalDay } from "../domain/time/local-day.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import {
  type DayDigest,
  type Digested,
  digestOf,
  digestsOf,
  emptyDigest,
} from "../domain/verdicts/day-digest.ts";
import type { Services } from "../services.ts";
import { digestedDaysFrom, ledgerRunsFrom } from "../store/ledger-days.ts";
import { reliefPlansOf } from "../store/relief-plans.ts";
import type { JudgedLoan } from "./judged-loan.ts";
import { loanRecord } from "./loan-record.ts";

/** What the stretches of a loan are held against, read once for all that are judged together. Keep one only for the
 *  length of a review: late data change a day. */
export interface LoanDays {
  /** Days that begin within `span`, oldest first, as the ledger has them. */
  counted(loan: JudgedLoan, span: Span): readonly CountedDay[];
  digestOf(loan: JudgedLoan, day: CountedDay): Promise<DayDigest>;
  /** Of a part of the record itself. */
  partOf(loan: JudgedLoan, span: Span): Promise<DigestedPart>;
  /** Every version, oldest first. */
  plans(loan: JudgedLoan): readonly ReliefPlan[];
  /** States of the days that begin within `span`. */
  runs(loan: JudgedLoan, span: Span): readonly LedgerRun[];
}

export interface CountedDay {
  readonly day: LocalDay;
  readonly startsAt: Instant;
  readonly endsAt: Instant;
  readonly met: number;
  readonly missed: number;
  /** Saturday or Sunday. */
  readonly weekend: boolean;
  /** null: reviewed before digests were kept. */
  readonly digest: DayDigest | null;
}

export interface DigestedPart extends Pick<Digested, "reliefs"> {
  readonly digest: DayDigest;
}

/** A part of a loan's record that somebody has read already. */
export interface ReadPart {
  readonly span: Span;
  readonly record: Digested;
}

/** @param atHand of the loan that will be asked for, where it has just been read */
export function loanDays(services: Pick<Services, "db" | "telemetry">, atHand?: ReadPart): LoanDays {
  const days = onceFrom((loan, from) =>
    digestedDaysFrom(services.db, loan, from).map((one) => ({ ...one, weekend: isWeekend(one.day) })),
  );
  const runs = onceFrom((loan, from) =>
    ledgerRunsFrom(services.db, loan, from).map((row) => ({ ...row, runs: row.runs.map(runFrom) })),
  );
  const read = async (loan: JudgedLoan, span: Span): Promise<DayDigest> =>
    span.end <= span.start ? emptyDigest : digestOf((await loanRecord(services, loan, span)).record);
  const known = new Map<CountedDay, Promise<DayDigest>>();
  const plans = new Map<BorrowerId, readonly ReliefPlan[]>();
  return {
    plans: ({ borrowerId }) => {
      const all = plans.get(borrowerId) ?? reliefPlansOf(services.db, borrowerId);
      plans.set(borrowerId, all);
      return all;
    },
    counted: (loan, span) => days(loan.id, span),
    digestOf: (loan, day) => {
      if (day.digest !== null) return Promise.resolve(day.digest);
      const digest = known.get(day) ?? read(loan, withinLoan(loan, day.startsAt, day.endsAt));
      known.set(day, digest);
      return digest;
    },
    partOf: async (loan, span) => {
      if (atHand && atHand.span.start <= span.start && span.end <= atHand.span.end) {
        const [digest = emptyDigest] = digestsOf(atHand.record, [span]);
        return { digest, reliefs: entriesWithin(atHand.record.reliefs, span) };
      }
      const { record } = await loanRecord(services, loan, span);
      return { digest: digestOf(record), reliefs: record.reliefs };
    },
    runs: (loan, span) => runs(loan.id, span).flatMap((day) => day.runs),
  };
}

/** Asks for everything from the earliest moment wanted on, and again only when an earlier one is. */
function onceFrom<Row extends { readonly startsAt: Instant }>(
  ask: (loan: LoanId, from: Instant) => readonly Row[],
): (loan: LoanId, span: Span) => readonly Row[] {
  const known = new Map<LoanId, { readonly from: Instant; readonly rows: readonly Row[] }>();
  return (loan, { start, end }) => {
    let asked = known.get(loan);
    if (asked === undefined || asked.from > start) asked = { from: start, rows: ask(loan, start) };
    known.set(loan, asked);
    const { rows } = asked;
    const from = firstFrom(rows.length, (place) => rows[place]?.startsAt ?? start, start);
    return rows.slice(
      from,
      firstFrom(rows.length, (place) => rows[place]?.startsAt ?? end, end),
    );
  };
}

function runFrom([index, start, end]: readonly [number, number, number]): LedgerRun {
  const state = minuteStates[index];
  if (state === undefined) throw new Error(`No minute state ${index}`);
  return { state, start: instant(start), end: instant(end) };
}

/** The day, cut to the loan: what the unit recorded with another borrower is no habit of this one. */
export function withinLoan(
  loan: Pick<JudgedLoan, "startedAt" | "endedAt">,
  start: Instant,
  end: Instant,
): Span {
  const from: Instant = instant(Math.max(start, loan.startedAt ?? start));
  return { start: from, end: instant(Math.max(from, Math.min(end, loan.endedAt ?? end))) };
}

/** Of days that a review has just read. */
export const digestsWithin = (
  record: Digested,
  loan: Pick<JudgedLoan, "startedAt" | "endedAt">,
  days: readonly Span[],
): DayDigest[] =>
  digestsOf(
    record,
    days.map(({ start, end }) => withinLoan(loan, start, end)),
  );
