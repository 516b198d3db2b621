import { restMilliseconds } from "../domain/adherence/relief-clock.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { LoanId } from "../domain/ids.ts";
import { lastRestStart } from "../domain/ledger/last-rest.ts";
import { isUnrecorded } from "../domain/ledger/timeline.ts";
import { dayBounds, type LocalDay, localDayOf, type ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import type { Database } from "../store/database.ts";
import { ledgerDaysBefore, newestLedgerDayOf, type ReviewedDay } from "../store/ledger-days.ts";
import type { LoanRow } from "../store/loans.ts";
import { stretchesOf } from "../store/stretches.ts";

/** A loan that has started. */
export type StartedLoan = Pick<LoanRow, "id" | "unitSerial" | "borrowerId" | "endedAt"> & {
  readonly startedAt: Instant;
};

/** What came in for the unit since its last review; null: nothing, only time has passed. */
export interface News {
  readonly throughMessage: number;
  /** null: some of it can't be placed, so anything may have changed. */
  readonly earliest: Instant | null;
}

export interface ReviewRange {
  /** Days to be built anew, from this one to the end of `time`. */
  readonly fromDay: LocalDay;
  /** From the start of that day to now or the loan's end. */
  readonly time: Span;
  /** Days already reviewed that lead up to it, in full: they reach back to where the relief clock stood still and to
   *  where no gap was open. */
  readonly before: readonly ReviewedDay[];
  /** Where the relief clock is taken up again. */
  readonly clockFrom: Instant;
}

/** A late message can change what lies a little before it: the minute it starts in, the edge of a hole. */
const reach = millisecondsIn.hour;
/** After a loan's end, the next loan's messages can still show that its last minutes are on their way. */
const watchedAfterEnd = 30 * 24 * millisecondsIn.hour;

/** Which part of a loan a review has to work through: the news, what is still open, and the time that has passed.
 *  @returns null when nothing of this loan can have changed */
export function reviewRange(
  db: Database,
  loan: StartedLoan,
  context: {
    readonly news: News | null;
    readonly now: Instant;
    readonly zone: ZoneName;
    readonly plans: readonly ReliefPlan[];
  },
): ReviewRange | null {
  const { now, zone } = context;
  const end = loan.endedAt === null ? now : instant(Math.min(loan.endedAt, now));
  if (end <= loan.startedAt) return null;
  const from = changedFrom(db, loan, context.news, end, now);
  if (from === null) return null;
  const fromDay = localDayOf(instant(Math.max(loan.startedAt, Math.min(from, end - 1))), zone);
  const time = { start: dayBounds(fromDay, zone).start, end };
  const longest = context.plans.reduce((most, plan) => Math.max(most, plan.interval), 0);
  const before = daysLeadingUp(db, loan, fromDay, restMilliseconds(longest));
  const rest = lastRestStart(before, restMilliseconds(longest));
  return { fromDay, time, before, clockFrom: rest ?? before[0]?.start ?? time.start };
}

function changedFrom(
  db: Database,
  loan: StartedLoan,
  news: News | null,
  end: Instant,
  now: Instant,
): Instant | null {
  const newest = newestLedgerDayOf(db, loan.id);
  if (newest === null || (news && news.earliest === null)) return loan.startedAt;
  const from: Instant[] = [];
  const isOver = loan.endedAt !== null && loan.endedAt <= now;
  if (!isOver || newest.end < end || newest.minutes["to-come"] > 0) from.push(newest.start);
  if (news?.earliest !== null && news?.earliest !== undefined) {
    const touched = instant(news.earliest - reach);
    if (touched < end) from.push(touched, ...gapStartsFrom(db, loan.id, touched, now));
    // What the next loan brings may show that the last minutes of this one are still on their way.
    else if (now - end < watchedAfterEnd) from.push(...gapStartsFrom(db, loan.id, end, now));
  }
  return from.length === 0 ? null : instant(Math.min(...from));
}

/** Starts of the stretches that reach `at` or lie after it: news within a gap, or at its edge, may change all of it. */
const gapStartsFrom = (db: Database, loan: LoanId, at: Instant, now: Instant): Instant[] =>
  stretchesOf(db, loan, { start: instant(at - 1), end: instant(now + 1) })
    .filter(({ kind, filledAt }) => kind === "gap" && filledAt === null)
    .map(({ start }) => start);

/** Reads back, a few days at a time, to a day that starts without an open gap and holds a rest; at worst to the start. */
function daysLeadingUp(db: Database, loan: StartedLoan, day: LocalDay, rest: number): ReviewedDay[] {
  let days: ReviewedDay[] = [];
  for (;;) {
    const more = ledgerDaysBefore(db, loan.id, days[0]?.day ?? day, 2);
    if (more.length === 0) return days;
    days = [...more, ...days];
    const first = days[0]?.runs[0];
    if (first && !isUnrecorded(first.state) && lastRestStart(days, rest) !== null) return days;
  }
}
