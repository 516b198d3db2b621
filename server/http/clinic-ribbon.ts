import type {
  BracketLine,
  RibbonBracket,
  RibbonDay,
  RibbonRelief,
} from "../../views/charts/day-ribbon-data.ts";
import { asKnown } from "../../views/clinic/known-on.tsx";
import { addCounts } from "../domain/adherence/bounds.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { BorrowerId, LoanId } from "../domain/ids.ts";
import type { RecordedRelief } from "../domain/record/unit-record.ts";
import { addDays, dayBounds, instantAt, type LocalDay } from "../domain/time/local-day.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import { catalogue } from "../domain/verdicts/causes.ts";
import { loanRecord } from "../programme/loan-record.ts";
import type { Services } from "../services.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import {
  type JudgedStretch,
  ledgerOfPersonDuring,
  type PersonLedgerDay,
  stretchesOfPersonDuring,
} from "../store/clinic-stretches.ts";
import { reliefPlansOf } from "../store/relief-plans.ts";
import { fairCounts } from "./clinic-counts.ts";
import { type HiddenTime, hiddenTimes } from "./clinic-hidden.ts";
import { runsOfRow } from "./clinic-runs.ts";
import type { KnownOn } from "./known-on.ts";

export interface PersonDays {
  readonly days: readonly RibbonDay[];
  readonly ledger: readonly PersonLedgerDay[];
  readonly stretches: readonly JudgedStretch[];
  readonly hidden: readonly HiddenTime[];
  /** By loan, oldest first. */
  readonly reliefs: ReadonlyMap<LoanId, readonly RecordedRelief[]>;
}

/** Everything the ribbons of a person show, from `first` to `last`, both included.
 *  @param known null: as known now */
export async function personDays(
  services: Services,
  person: BorrowerId,
  loans: readonly ClinicLoan[],
  range: { readonly first: LocalDay; readonly last: LocalDay },
  known: KnownOn | null,
): Promise<PersonDays> {
  const knownBy = known?.end ?? null;
  const { db, zone } = services;
  const span = { start: dayBounds(range.first, zone).start, end: dayBounds(range.last, zone).end };
  const ledger = ledgerOfPersonDuring(db, person, span, knownBy);
  const stretches = stretchesOfPersonDuring(db, person, span, knownBy);
  const plans = reliefPlansOf(db, person);
  // What had arrived by then and was not worked through yet was shown nowhere.
  const workedThrough = known === null ? span.end : endOf(ledger);
  const byLoan = await reliefsOf(services, loans, { start: span.start, end: workedThrough }, knownBy);
  const reliefs = [...byLoan.values()].flat();
  const hidden = loans.flatMap((loan) => hiddenTimes(services, loan, span, knownBy));
  const days: RibbonDay[] = [];
  for (let day = range.first; day <= range.last; day = addDays(day, 1)) {
    const bounds = dayBounds(day, zone);
    const rows = ledger.filter((row) => row.day === day);
    const runs = runsOf(rows);
    days.push({
      day,
      ...bounds,
      runs,
      reliefs: reliefs.filter(({ at }) => inside(at, bounds)).map((relief) => shown(relief, plans)),
      brackets: stretches
        .filter((stretch) => touches(stretch, bounds))
        .flatMap((one) => bracket(one, known, services.clock.now())),
      unseen: unseenIn(runs, hidden),
      seams: loans.flatMap(({ startedAt, followsLoanId, unitSerial }) =>
        followsLoanId !== null && startedAt !== null && inside(startedAt, bounds)
          ? [{ at: startedAt, words: `another unit, ${unitSerial}, from here on` }]
          : [],
      ),
      hours: hoursOf(day, bounds, services),
      ...addCounts(rows.map((row) => fairCounts(row, hidden))),
    });
  }
  return { days, ledger, stretches, hidden, reliefs: byLoan };
}

const inside = (at: Instant, { start, end }: Span): boolean => at >= start && at < end;
const touches = (stretch: JudgedStretch, { start, end }: Span): boolean =>
  stretch.startsAt < end && (stretch.endsAt === null || stretch.endsAt > start);
const endOf = (ledger: readonly PersonLedgerDay[]): Instant =>
  instant(Math.max(0, ...ledger.flatMap(({ runs }) => runs.map(([, , end]) => end))));

function runsOf(rows: readonly PersonLedgerDay[]): RibbonDay["runs"] {
  return rows
    .flatMap(runsOfRow)
    .filter(({ state }) => state !== "outside-loan")
    .sort((a, b) => a.start - b.start);
}

/** The reliefs recorded of this person, and no others. */
async function reliefsOf(
  services: Services,
  loans: readonly ClinicLoan[],
  span: Span,
  knownBy: Instant | null,
): Promise<ReadonlyMap<LoanId, readonly RecordedRelief[]>> {
  const all = new Map<LoanId, readonly RecordedRelief[]>();
  for (const { id, startedAt, endedAt, unitSerial } of loans) {
    if (startedAt === null) continue;
    const start = instant(Math.max(span.start, startedAt));
    const end = instant(Math.min(span.end, endedAt ?? span.end));
    if (end <= start) continue;
    const { record } = await loanRecord(services, { id, unitSerial }, { start, end }, knownBy);
    all.set(id, record.reliefs);
  }
  return all;
}

function shown(relief: RecordedRelief, plans: readonly ReliefPlan[]): RibbonRelief {
  const plan = plans.findLast(({ validFrom }) => validFrom <= relief.at) ?? null;
  const holdShare = plan ? relief.hold / plan.hold : null;
  const counts =
    relief.outcome === "complete" &&
    plan !== null &&
    relief.hold >= plan.hold &&
    plan.kinds.includes(relief.kind);
  return { at: relief.at, kind: relief.kind, holdShare, holdSeconds: relief.hold, counts };
}

/** An ordinary long sit is no question; what was filled late no longer is one, but stays marked. */
function bracket(stretch: JudgedStretch, known: KnownOn | null, now: Instant): RibbonBracket[] {
  const { verdict } = stretch;
  const lead = verdict?.causes[0]?.cause;
  if (lead === "ordinary" || stretch.filledAt !== null) return [];
  const label = catalogue(stretch.kind).find(({ id }) => id === lead)?.label;
  return [
    {
      start: stretch.startsAt,
      end: stretch.endsAt ?? known?.end ?? now,
      label:
        verdict === null || label === undefined
          ? "not judged yet"
          : verdict.outcome === "not-settled"
            ? `${label}?`
            : label,
      line: lineOf(verdict),
      href: asKnown(known?.day ?? null, `/clinic/gaps/${stretch.id}`),
      sentence: verdict?.sentence ?? "Not judged yet.",
    },
  ];
}

function lineOf(verdict: JudgedStretch["verdict"]): BracketLine {
  if (verdict === null || verdict.outcome === "not-settled") return "open";
  return verdict.probability >= 0.95 ? "settled" : "likely";
}

function unseenIn(runs: RibbonDay["runs"], hidden: readonly HiddenTime[]): RibbonDay["unseen"] {
  return runs
    .filter(({ state }) => state === "seated")
    .flatMap((run) =>
      hidden
        .slice(0, 1)
        .filter((one) => one.start < run.end && one.end > run.start)
        .map((one) => ({
          start: instant(Math.max(run.start, one.start)),
          end: instant(Math.min(run.end, one.end)),
          words: one.words,
        })),
    );
}

/** Every third hour of the wall clock, where it falls. */
function hoursOf(day: LocalDay, { start, end }: Span, services: Services): RibbonDay["hours"] {
  const marks = [0, 3, 6, 9, 12, 15, 18, 21].map((hour) => ({
    at: instantAt(day, hour, 0, services.zone),
    hour,
  }));
  return [...marks, { at: end, hour: 24 }].filter(({ at }) => at >= start && at <= end);
}
