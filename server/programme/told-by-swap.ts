import type { FindingKind } from "../domain/condition/condition.ts";
import { recordWithin } from "../domain/condition/record-within.ts";
import { loadAfterSwap, type ToldBySwap } from "../domain/drift/after-swap.ts";
import type { DayPoint } from "../domain/drift/drift-chart.ts";
import { dayLoad, settledLoad } from "../domain/drift/settled-load.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { after, type Instant, instant, milliseconds, millisecondsIn, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { hadFindingSince, openFindingsOf } from "../store/findings.ts";
import { baselineChanges } from "../store/health-basis.ts";
import { type LoanRow, loanById, loanFollowing, loansOfUnit } from "../store/loans.ts";
import { localDaysOf } from "./assessed-span.ts";
import { loanRecord } from "./loan-record.ts";

const day = milliseconds(24 * millisecondsIn.hour);
/** The last weeks of the cushion that went, and the first ones of the one that came. */
const daysBefore = 28;
const daysAfter = 14;

/** What takes part of the load out of the sum, or moves it: a unit with it is no witness. */
const noWitness: ReadonlySet<FindingKind> = new Set([
  "row-open",
  "column-open",
  "cell-open",
  "cell-stuck",
  "lines-shorted",
  "connector-loose",
  "insert-turned",
  "insert-shifted",
  "insert-folded",
]);

/** By the newest loan of a unit: what the swap that ended it tells, or the one that began it. */
export async function toldBySwapOfUnit(services: Services, unit: UnitSerial): Promise<ToldBySwap | null> {
  const [newest] = loansOfUnit(services.db, unit);
  if (newest === undefined) return null;
  const next = loanFollowing(services.db, newest.id);
  const lent = loanById(services.db, next?.id ?? newest.id);
  return lent === null ? null : toldBySwap(services, lent);
}

/** Read from the record when a page asks: nothing of it is kept.
 *  @param came the loan that the swap began
 *  @returns null where there was no swap, the load hadn't fallen before it, or either cushion is no witness */
export async function toldBySwap(services: Services, came: LoanRow): Promise<ToldBySwap | null> {
  const { db } = services;
  const gone = came.followsLoanId === null ? null : loanById(db, came.followsLoanId);
  if (!gone?.startedAt || gone.endedAt === null || came.startedAt === null) return null;
  const swappedAt = gone.endedAt;
  if (!hadFindingSince(db, gone.unitSerial, "gain-or-weight", gone.startedAt)) return null;
  if (openFindingsOf(db, came.unitSerial).some(({ kind }) => noWitness.has(kind))) return null;
  // Another chair lets the same person weigh otherwise on a cushion.
  const chairs = (loan: LoanRow): readonly Instant[] =>
    baselineChanges(db, loan.unitSerial, loan.reference).flatMap(({ at, kind }) =>
      kind === "chair" ? [at] : [],
    );
  if (chairs(came).some((at) => at >= swappedAt)) return null;
  const from = Math.max(gone.startedAt, swappedAt - daysBefore * day, ...chairs(gone));
  const before = await dayLoads(services, gone, { start: instant(from), end: swappedAt });
  const change = settledLoad(before);
  if (change === null) return null;
  const end = came.endedAt ?? services.clock.now();
  const until = instant(Math.min(end, after(came.startedAt, milliseconds(daysAfter * day))));
  const loads = await dayLoads(services, came, { start: came.startedAt, end: until });
  const told = loadAfterSwap(
    change,
    loads.map(({ level }) => level),
  );
  return told && { ...told, gone: gone.unitSerial, came: came.unitSerial, swappedAt };
}

async function dayLoads(services: Services, loan: LoanRow, over: Span): Promise<DayPoint[]> {
  const { record } = await loanRecord(services, loan, over);
  return localDaysOf(over, services.zone).flatMap((span) => {
    const level = dayLoad(recordWithin(record, span)?.minutes ?? []);
    return level === null ? [] : [{ at: span.start, level }];
  });
}
