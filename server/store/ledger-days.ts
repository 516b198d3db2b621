import { and, asc, desc, eq, gte, lt, lte, sql } from "drizzle-orm";
import type { DueRelief } from "../domain/adherence/adherence.ts";
import { countReliefs } from "../domain/adherence/bounds.ts";
import type { LoanId } from "../domain/ids.ts";
import { noMinutes } from "../domain/ledger/build-ledger.ts";
import { type LedgerDay, type LedgerRun, minuteStates } from "../domain/ledger/minute-state.ts";
import { type LocalDay, localDayOf, type ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { DayDigest } from "../domain/verdicts/day-digest.ts";
import { type Database, preparedOnce } from "./database.ts";
import { digestFrom, digestNumbers } from "./day-digest-numbers.ts";
import { ledgerDayHeld } from "./schema/held.ts";
import { ledgerDay } from "./schema/record.ts";

/** A day of the ledger with the reliefs decided in it. */
export interface ReviewedDay extends LedgerDay {
  readonly due: readonly DueRelief[];
}

/** With the sums that habits are made of; null: to be read when they are asked for. */
export interface DigestedDay extends ReviewedDay {
  readonly digest: DayDigest | null;
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

// Every review of every unit asks what follows.

/** The newest `count` days before `day`, oldest first. */
export const ledgerDaysBefore = (db: Database, loan: LoanId, day: LocalDay, count: number): ReviewedDay[] =>
  daysBefore(db).all({ loan, day, count }).map(dayFrom).reverse();

const ofLoan = eq(ledgerDay.loanId, sql.placeholder("loan"));

const daysBefore = preparedOnce((db) =>
  db
    .select()
    .from(ledgerDay)
    .where(and(ofLoan, lt(ledgerDay.day, sql.placeholder("day"))))
    .orderBy(desc(ledgerDay.day))
    .limit(sql.placeholder("count"))
    .prepare(),
);

export const newestLedgerDayOf = (db: Database, loan: LoanId): ReviewedDay | null => {
  const row = newestDay(db).get({ loan });
  return row ? dayFrom(row) : null;
};

const newestDay = preparedOnce((db) =>
  db.select().from(ledgerDay).where(ofLoan).orderBy(desc(ledgerDay.day)).limit(1).prepare(),
);

/** Days before `before` with minutes that the unit was still expected to send. */
export const daysAwaiting = (db: Database, loan: LoanId, before: LocalDay): ReviewedDay[] =>
  awaitingDays(db).all({ loan, before }).map(dayFrom);

const awaitingDays = preparedOnce((db) =>
  db
    .select()
    .from(ledgerDay)
    // Word for word as the index has it: without it a year of days would be gone through.
    .where(and(ofLoan, lt(ledgerDay.day, sql.placeholder("before")), sql`${ledgerDay.awaits} = 1`))
    .orderBy(asc(ledgerDay.day))
    .prepare(),
);

/** Days that begin at `from` or later, oldest first, with what was due in them and the sums that habits are made of. */
export const digestedDaysFrom = (db: Database, loan: LoanId, from: Instant) =>
  digestedDays(db)
    .all({ loan, from })
    .map(({ digest, ...day }) => ({ ...day, digest: digest === null ? null : digestFrom(digest) }));

const digestedDays = preparedOnce((db) =>
  db
    .select({
      day: ledgerDay.day,
      startsAt: ledgerDay.startsAt,
      endsAt: ledgerDay.endsAt,
      met: ledgerDay.met,
      missed: ledgerDay.missed,
      digest: ledgerDay.digest,
    })
    .from(ledgerDay)
    .where(and(ofLoan, gte(ledgerDay.startsAt, sql.placeholder("from"))))
    .orderBy(asc(ledgerDay.startsAt))
    .prepare(),
);

/** States of the days that begin at `from` or later, oldest first. */
export const ledgerRunsFrom = (db: Database, loan: LoanId, from: Instant) =>
  ledgerRuns(db).all({ loan, from });

const ledgerRuns = preparedOnce((db) =>
  db
    .select({ startsAt: ledgerDay.startsAt, runs: ledgerDay.runs })
    .from(ledgerDay)
    .where(and(ofLoan, gte(ledgerDay.startsAt, sql.placeholder("from"))))
    .orderBy(asc(ledgerDay.startsAt))
    .prepare(),
);

/** Puts each day in place of what was held of it before, which is kept where it was held at the end of a day: pages as
 *  known on that day are made of it. */
export function saveLedgerDays(
  db: Database,
  days: readonly DigestedDay[],
  { reviewedAt, zone }: { readonly reviewedAt: Instant; readonly zone: ZoneName },
): void {
  for (const day of days) {
    const row = {
      runs: day.runs.map(({ state, start, end }) => [minuteStates.indexOf(state), start, end] as const),
      due: day.due.map(({ dueAt, outcome }) => [dueAt, outcome] as const),
    };
    const named = { loan: day.loan, day: day.day };
    const before = heldNow(db).get(named);
    const heldFrom = before && saysTheSame(before, row) ? heldSince(before) : reviewedAt;
    if (before && heldFrom === reviewedAt && !isOneDay(heldSince(before), reviewedAt, zone))
      keepHeld(db, named, reviewedAt);
    savedDay(db).run({
      ...named,
      startsAt: day.start,
      endsAt: day.end,
      ...row,
      ...countReliefs(day.due),
      reviewedAt,
      heldFrom,
      digest: day.digest === null ? null : digestNumbers(day.digest),
      awaits: day.minutes.awaiting > 0,
    });
  }
}

const dayNamed = preparedOnce((db) =>
  db
    .select()
    .from(ledgerDay)
    .where(and(ofLoan, eq(ledgerDay.day, sql.placeholder("day"))))
    .prepare(),
);

/** What a day says, as it is written: most days are worked out again and say the same. */
const heldNow = preparedOnce((db) =>
  db
    .select({
      runs: sql<string>`${ledgerDay.runs}`,
      due: sql<string>`${ledgerDay.due}`,
      heldFrom: ledgerDay.heldFrom,
      reviewedAt: ledgerDay.reviewedAt,
    })
    .from(ledgerDay)
    .where(and(ofLoan, eq(ledgerDay.day, sql.placeholder("day"))))
    .prepare(),
);

const savedDay = preparedOnce((db) =>
  db
    .insert(ledgerDay)
    .values({
      loanId: sql.placeholder("loan"),
      day: sql.placeholder("day"),
      startsAt: sql.placeholder("startsAt"),
      endsAt: sql.placeholder("endsAt"),
      runs: sql.placeholder("runs"),
      due: sql.placeholder("due"),
      met: sql.placeholder("met"),
      missed: sql.placeholder("missed"),
      notAssessable: sql.placeholder("notAssessable"),
      reviewedAt: sql.placeholder("reviewedAt"),
      heldFrom: sql.placeholder("heldFrom"),
      digest: sql.placeholder("digest"),
      awaits: sql.placeholder("awaits"),
    })
    .onConflictDoUpdate({
      target: [ledgerDay.loanId, ledgerDay.day],
      set: {
        startsAt: sql`excluded.starts_at`,
        endsAt: sql`excluded.ends_at`,
        runs: sql`excluded.runs`,
        due: sql`excluded.due`,
        met: sql`excluded.met`,
        missed: sql`excluded.missed`,
        notAssessable: sql`excluded.not_assessable`,
        reviewedAt: sql`excluded.reviewed_at`,
        heldFrom: sql`excluded.held_from`,
        digest: sql`excluded.digest`,
        awaits: sql`excluded.awaits`,
      },
    })
    .prepare(),
);

const heldSince = ({ heldFrom, reviewedAt }: Pick<Row, "heldFrom" | "reviewedAt">): Instant =>
  heldFrom ?? reviewedAt;

const saysTheSame = (
  before: { readonly runs: string; readonly due: string },
  now: Pick<Row, "runs" | "due">,
): boolean => before.runs === JSON.stringify(now.runs) && before.due === JSON.stringify(now.due);

/** What no day ended with was never shown as of one. */
const isOneDay = (heldFrom: Instant, heldUntil: Instant, zone: ZoneName): boolean =>
  localDayOf(heldFrom, zone) === localDayOf(heldUntil, zone);

function keepHeld(
  db: Database,
  named: { readonly loan: LoanId; readonly day: LocalDay },
  heldUntil: Instant,
): void {
  const before = dayNamed(db).get(named);
  if (!before) return;
  dayHeld(db).run({ ...before, heldFrom: heldSince(before), heldUntil });
}

const dayHeld = preparedOnce((db) =>
  db
    .insert(ledgerDayHeld)
    .values({
      loanId: sql.placeholder("loanId"),
      day: sql.placeholder("day"),
      startsAt: sql.placeholder("startsAt"),
      endsAt: sql.placeholder("endsAt"),
      runs: sql.placeholder("runs"),
      due: sql.placeholder("due"),
      met: sql.placeholder("met"),
      missed: sql.placeholder("missed"),
      notAssessable: sql.placeholder("notAssessable"),
      heldFrom: sql.placeholder("heldFrom"),
      heldUntil: sql.placeholder("heldUntil"),
    })
    .onConflictDoNothing()
    .prepare(),
);

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
