import { newId } from "../chance.ts";
import { dueReliefs } from "../domain/adherence/due-reliefs.ts";
import type { UnbrokenSit } from "../domain/adherence/relief-clock.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import { stretchId } from "../domain/ids.ts";
import { buildLedger } from "../domain/ledger/build-ledger.ts";
import { type FoundStretch, findGaps } from "../domain/ledger/find-gaps.ts";
import { findThinStretches } from "../domain/ledger/find-thin-stretches.ts";
import { matchStretches } from "../domain/ledger/match-stretches.ts";
import type { LedgerDay } from "../domain/ledger/minute-state.ts";
import { cutGaps } from "../domain/ledger/ran-unheard.ts";
import { seenUntil } from "../domain/ledger/timeline.ts";
import type { RecordedMinute, RecordedRelief, SequenceHole } from "../domain/record/unit-record.ts";
import type { Settings } from "../domain/settings.ts";
import { daysTouched } from "../domain/time/local-day.ts";
import { type Instant, instant, type Milliseconds, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import { type DigestedDay, daysAwaiting, type ReviewedDay, saveLedgerDays } from "../store/ledger-days.ts";
import { reliefPlansOf } from "../store/relief-plans.ts";
import { settingsInForce } from "../store/settings.ts";
import { insertStretch, stretchesOf, updateStretch } from "../store/stretches.ts";
import { digestsWithin, type ReadPart } from "./loan-days.ts";
import { loanRecord } from "./loan-record.ts";
import { type News, type ReviewRange, reviewRange, type StartedLoan } from "./review-range.ts";

export interface LoanReview {
  /** Days built anew and days whose awaited minutes were looked at again. */
  readonly days: readonly DigestedDay[];
  /** Every stretch in the time worked through, as it stands now. */
  readonly stretches: readonly ReviewedStretch[];
  /** What was read of the record: most of these stretches lie in it. */
  readonly read: ReadPart;
}

export interface ReviewedStretch {
  readonly stretch: Stretch;
  readonly change: "none" | "new" | "moved" | "filled";
}

/** Works out what changed of one loan: ledger days, reliefs due, gaps and thin stretches. Reads only; `saveLoanReview`
 *  keeps it. @returns null when nothing can have changed */
export async function reviewLoan(
  services: Services,
  loan: StartedLoan,
  news: News | null,
  now: Instant,
): Promise<LoanReview | null> {
  const { db, zone } = services;
  const plans = reliefPlansOf(db, loan.borrowerId);
  const range = reviewRange(db, loan, { news, now, zone, plans });
  if (!range) return null;
  const settings = settingsInForce(db);
  const readFrom = Math.min(range.clockFrom, range.time.start) - millisecondsIn.hour;
  const span = { start: instant(readFrom), end: instant(range.time.end + millisecondsIn.hour) };
  const { record, notTheirs } = await loanRecord(services, loan, span);
  const window = { loan: loan.id, start: loan.startedAt, end: loan.endedAt };
  const built = buildLedger({ window, record, notTheirs, now, zone }, daysTouched(range.time, zone));
  const reliefs = record.reliefs.filter(
    ({ at }) => at >= loan.startedAt && (loan.endedAt === null || at < loan.endedAt),
  );
  const worked = workThrough(range, built, { reliefs, plans, settings, now });
  // Only the unit's own word takes back what it was to send; what comes late is news of its own day. After the loan's end
  // that word lies outside of what was read.
  const maySayLost = loan.endedAt !== null || record.storeOverruns.length > 0;
  const again = news && maySayLost ? await lookAgainAtAwaited(services, loan, range, now) : [];
  const found = await cutApart(services, loan, worked.found, {
    holes: record.holes,
    readFrom,
    settings,
    now,
  });
  const heardFrom = (start: Instant) => firstHeard(record.minutes, start, range.time.end);
  const shortestGap = milliseconds(settings.shortestGapMinutes * millisecondsIn.minute);
  const stretches = matched(services, loan, { range, found, at: { now, shortestGap }, heardFrom });
  const digests = digestsWithin(record, loan, worked.days);
  const days = worked.days.map((day, place) => ({ ...day, digest: digests[place] ?? null }));
  return { days: [...again, ...days], stretches, read: { span, record } };
}

interface Work {
  readonly reliefs: readonly RecordedRelief[];
  readonly plans: readonly ReliefPlan[];
  readonly settings: Settings;
  readonly now: Instant;
}

/** Takes the relief clock up where it last stood still, and goes on with it day by day. */
function workThrough(
  range: ReviewRange,
  built: readonly LedgerDay[],
  { reliefs, plans, settings, now }: Work,
): { days: ReviewedDay[]; found: FoundStretch[] } {
  const line = [...range.before, ...built];
  const { sufficientOffMinutes } = settings;
  const rules = { reliefs, plans, sufficientOffMinutes, until: seenUntil(line, now) };
  const lead = dueReliefs({ ...rules, days: cutBefore(range.before, range.clockFrom) });
  const sits: UnbrokenSit[] = [...lead.sits];
  const days: ReviewedDay[] = [];
  let clock = lead.clock;
  for (const day of built) {
    const part = dueReliefs({ ...rules, days: [day] }, clock);
    days.push({ ...day, due: part.due });
    sits.push(...part.sits);
    clock = part.clock;
  }
  return { days, found: [...findGaps(line, settings, now), ...findThinStretches({ sits, clock }, settings)] };
}

interface Seen {
  readonly holes: readonly SequenceHole[];
  /** What lies before was not read. */
  readonly readFrom: number;
  readonly settings: Settings;
  readonly now: Instant;
}

/** Gaps cut where the unit began to run or ceased to; thin stretches as they are. */
async function cutApart(
  services: Services,
  { unitSerial }: StartedLoan,
  found: readonly FoundStretch[],
  { holes, readFrom, settings, now }: Seen,
): Promise<FoundStretch[]> {
  const gaps = found.filter(({ kind }) => kind === "gap");
  const [first] = gaps;
  if (!first) return [...found];
  const known =
    first.start >= readFrom ? holes : await services.telemetry.holes(unitSerial, { ...first, end: now });
  return [...cutGaps(gaps, known, settings, now), ...found.filter(({ kind }) => kind !== "gap")];
}

const cutBefore = (days: readonly LedgerDay[], from: Instant): LedgerDay[] =>
  days
    .filter((day) => day.end > from)
    .map((day) => ({
      ...day,
      runs: day.runs
        .filter((run) => run.end > from)
        .map((run) => (run.start < from ? { ...run, start: from } : run)),
    }));

/** Days further back whose missing minutes were still to be sent: news can mean that they never will be. Whether a
 *  minute without a record is awaited changes neither gaps nor reliefs. */
async function lookAgainAtAwaited(
  services: Services,
  loan: StartedLoan,
  range: ReviewRange,
  now: Instant,
): Promise<DigestedDay[]> {
  const looked: DigestedDay[] = [];
  for (const day of daysAwaiting(services.db, loan.id, range.fromDay)) {
    const { record, notTheirs } = await loanRecord(services, loan, {
      start: instant(day.start - millisecondsIn.hour),
      end: instant(day.end + millisecondsIn.hour),
    });
    const window = { loan: loan.id, start: loan.startedAt, end: loan.endedAt };
    const [rebuilt] = buildLedger({ window, record, notTheirs, now, zone: services.zone }, [day.day]);
    if (rebuilt && rebuilt.minutes.awaiting !== day.minutes.awaiting) {
      const [digest] = digestsWithin(record, loan, [rebuilt]);
      looked.push({ ...rebuilt, due: day.due, digest: digest ?? null });
    }
  }
  return looked;
}

/** When the first of what was recorded from `start` on came in; at the latest `end`. */
function firstHeard(minutes: readonly RecordedMinute[], start: Instant, end: Instant): Instant {
  let first = end;
  for (const { at, receivedAt } of minutes)
    if (at >= start && receivedAt > start && receivedAt < first) first = receivedAt;
  return first;
}

interface Found {
  readonly range: ReviewRange;
  readonly found: readonly FoundStretch[];
  readonly at: { readonly now: Instant; readonly shortestGap: Milliseconds };
  readonly heardFrom: (start: Instant) => Instant;
}

function matched(
  services: Services,
  loan: StartedLoan,
  { range, found, at, heardFrom }: Found,
): ReviewedStretch[] {
  const { now } = at;
  const gapsFrom = range.before[0]?.start ?? range.time.start;
  const from = { gap: gapsFrom, thin: range.clockFrom };
  const reviewed = { start: instant(Math.min(from.gap, from.thin)), end: instant(now + 1) };
  const listed = stretchesOf(services.db, loan.id, reviewed).filter(
    ({ kind, end, filledAt }) => filledAt === null && (end === null || end > from[kind]),
  );
  const { kept, filled, fresh } = matchStretches(listed, found, at, heardFrom);
  const before = new Map(listed.map((stretch) => [stretch.id, stretch]));
  const isMoved = ({ id, start, end }: Stretch) =>
    before.get(id)?.start !== start || before.get(id)?.end !== end;
  return [
    ...kept.map((stretch): ReviewedStretch => ({ stretch, change: isMoved(stretch) ? "moved" : "none" })),
    ...filled.map((stretch): ReviewedStretch => ({ stretch, change: "filled" })),
    ...fresh.map(
      (stretch): ReviewedStretch => ({
        stretch: {
          ...stretch,
          id: stretchId(newId(services.chance, "stretch")),
          loan: loan.id,
          firstSeenAt: now,
          filledAt: null,
        },
        change: "new",
      }),
    ),
  ];
}

/** Call it in one transaction with everything else the review saves. */
export function saveLoanReview(
  { zone }: Pick<Services, "zone">,
  db: Database,
  review: LoanReview,
  now: Instant,
): void {
  saveLedgerDays(db, review.days, { reviewedAt: now, zone });
  for (const { stretch, change } of review.stretches) {
    if (change === "new") insertStretch(db, stretch);
    else if (change !== "none") updateStretch(db, stretch, now);
  }
}
