import { and, asc, desc, eq, gte, like, lt, lte } from "drizzle-orm";
import type { DueRelief } from "../domain/adherence/adherence.ts";
import { countReliefs } from "../domain/adherence/bounds.ts";
import type { LoanId } from "../domain/ids.ts";
import { noMinutes } from "../domain/ledger/build-ledger.ts";
import { type LedgerDay, type LedgerRun, minuteStates } from "../domain/ledger/minute-state.ts";
import { type LocalDay, localDayOf, type ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { ledgerDayHeld } from "./schema/held.ts";
import { ledgerDay } from "./schema/record.ts";

/** A day of the ledger with the reliefs decided in it. */
export interface ReviewedDay extends LedgerDay {
  readonly due: readonly DueRelief[];
}

type Row = typeof ledgerDay.$inferSelect;

const outcomes = ["met", "missed", "not-assessable"] as const satisfies readonly DueRelief["outcome"][];

/** Oldest first, both days included; without them, every day of the loan. */
export const ledgerDaysOf = (db: Database, loan: LoanId, from?: LocalDay, to?: LocalDay): ReviewedDay[] =>
  db
    .select()
    .from(ledgerDay)
    .where(
      and(
        eq(ledgerDay.loanId, loan),
        from === undefined ? undefined : gte(ledgerDay.day, from),
        to === undefined ? undefined : lte(ledgerDay.day, to),
      ),
    )
    .orderBy(asc(ledgerDay.day))
    .all()
    .map(dayFrom);

/** The newest `count` days before `day`, oldest first. */
export const ledgerDaysBefore = (db: Database, loan: LoanId, day: LocalDay, count: number): ReviewedDay[] =>
  db
    .select()
    .from(ledgerDay)
    .where(and(eq(ledgerDay.loanId, loan), lt(ledgerDay.day, day)))
    .orderBy(desc(ledgerDay.day))
    .limit(count)
    .all()
    .map(dayFrom)
    .reverse();

export const newestLedgerDayOf = (db: Database, loan: LoanId): ReviewedDay | null => {
  const row = db
    .select()
    .from(ledgerDay)
    .where(eq(ledgerDay.loanId, loan))
    .orderBy(desc(ledgerDay.day))
    .limit(1)
    .get();
  return row ? dayFrom(row) : null;
};

/** Days before `before` with minutes that the unit was still expected to send. */
export const daysAwaiting = (db: Database, loan: LoanId, before: LocalDay): ReviewedDay[] =>
  db
    .select()
    .from(ledgerDay)
    .where(
      and(
        eq(ledgerDay.loanId, loan),
        lt(ledgerDay.day, before),
        like(ledgerDay.runs, `%[${minuteStates.indexOf("awaiting")},%`),
      ),
    )
    .orderBy(asc(ledgerDay.day))
    .all()
    .map(dayFrom);

/** Puts each day in place of what was held of it before, which is kept where it was held at the end of a day: pages as
 *  known on that day are made of it. */
export function saveLedgerDays(
  db: Database,
  days: readonly ReviewedDay[],
  { reviewedAt, zone }: { readonly reviewedAt: Instant; readonly zone: ZoneName },
): void {
  for (const day of days) {
    const row = {
      startsAt: day.start,
      endsAt: day.end,
      runs: day.runs.map(({ state, start, end }) => [minuteStates.indexOf(state), start, end] as const),
      due: day.due.map(({ dueAt, outcome }) => [dueAt, outcome] as const),
      ...countReliefs(day.due),
      reviewedAt,
    };
    const before = rowOf(db, day.loan, day.day);
    const heldFrom = before && saysTheSame(before, row) ? heldSince(before) : reviewedAt;
    if (before && heldFrom === reviewedAt) keepHeld(db, before, reviewedAt, zone);
    db.insert(ledgerDay)
      .values({ loanId: day.loan, day: day.day, heldFrom, ...row })
      .onConflictDoUpdate({ target: [ledgerDay.loanId, ledgerDay.day], set: { heldFrom, ...row } })
      .run();
  }
}

const rowOf = (db: Database, loan: LoanId, day: LocalDay): Row | undefined =>
  db
    .select()
    .from(ledgerDay)
    .where(and(eq(ledgerDay.loanId, loan), eq(ledgerDay.day, day)))
    .get();

const heldSince = ({ heldFrom, reviewedAt }: Row): Instant => heldFrom ?? reviewedAt;

const saysTheSame = (a: Pick<Row, "runs" | "due">, b: Pick<Row, "runs" | "due">): boolean =>
  JSON.stringify([a.runs, a.due]) === JSON.stringify([b.runs, b.due]);

/** What no day ended with was never shown as of one. */
function keepHeld(db: Database, before: Row, heldUntil: Instant, zone: ZoneName): void {
  const heldFrom = heldSince(before);
  if (localDayOf(heldFrom, zone) === localDayOf(heldUntil, zone)) return;
  const { reviewedAt: _, ...row } = before;
  db.insert(ledgerDayHeld)
    .values({ ...row, heldFrom, heldUntil })
    .onConflictDoNothing()
    .run();
}

function dayFrom(row: Row): ReviewedDay {
  const runs = row.runs.map(([index, start, end]): LedgerRun => {
    const state = minuteStates[index];
    if (state === undefined) throw new Error(`No minute state ${index} in ${row.loanId} ${row.day}`);
    return { state, start: instant(start), end: instant(end) };
  });
  const minutes = noMinutes();
  for (const { state, start, end } of runs) minutes[state] += (end - start) / millisecondsIn.minute;
  const due = row.due.map(dueReliefFrom);
  return { loan: row.loanId, day: row.day, start: row.startsAt, end: row.endsAt, runs, minutes, due };
}

/** A due relief as the column `due` keeps it. */
export function dueReliefFrom([dueAt, text]: Row["due"][number]): DueRelief {
  const outcome = outcomes.find((known) => known === text);
  if (outcome === undefined) throw new Error(`No outcome ${text} of a relief due at ${dueAt}`);
  return { dueAt: instant(dueAt), outcome };
}
