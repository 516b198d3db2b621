import { reliefWords } from "../../views/charts/day-ribbon.tsx";
import { timeWords } from "../../views/layout/words.ts";
import type { DueRelief } from "../domain/adherence/adherence.ts";
import { qualifies } from "../domain/adherence/due-reliefs.ts";
import { graceEnds } from "../domain/adherence/relief-clock.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type { LoanId } from "../domain/ids.ts";
import { gapStates } from "../domain/ledger/minute-state.ts";
import type { RecordedRelief } from "../domain/record/unit-record.ts";
import type { ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import { type FairDue, fairDue } from "./clinic-counts.ts";
import type { PersonDays } from "./clinic-ribbon.ts";
import { runsOfRow } from "./clinic-runs.ts";

export interface DueExplained {
  readonly zone: ZoneName;
  readonly plans: readonly ReliefPlan[];
  /** The stretch that a time of a loan lies in, or that ended last before it, with its page. */
  readonly stretchAt: (
    loan: LoanId,
    start: Instant,
    end: Instant,
  ) => { readonly words: string; readonly href: string } | null;
}

interface Explained extends DueRelief {
  readonly why: string;
  readonly href: string | null;
}

/** A day's due reliefs, each with what in the record made it what it is. */
export function explainDue(row: PersonLedgerDay, told: PersonDays, by: DueExplained): Explained[] {
  const reliefs = told.reliefs.get(row.loanId) ?? [];
  return fairDue(row, told.hidden).map((due) => ({ ...due, ...whyOf(due, row, reliefs, by) }));
}

function whyOf(
  due: FairDue,
  row: PersonLedgerDay,
  reliefs: readonly RecordedRelief[],
  by: DueExplained,
): Pick<Explained, "why" | "href"> {
  switch (due.outcome) {
    case "met":
      return { why: metWords(row, due, reliefs, by.zone), href: null };
    case "missed":
      return { why: missedWords(due, planAt(by, due.dueAt), reliefs, by.zone), href: null };
    case "not-assessable":
      return untoldWords(row, due, by);
  }
}

const planAt = ({ plans }: DueExplained, at: Instant): ReliefPlan | null =>
  plans.findLast(({ validFrom }) => validFrom <= at) ?? null;

/** A relief met is told at the off-load that makes it whole. */
function metWords(
  row: PersonLedgerDay,
  { dueAt }: FairDue,
  reliefs: readonly RecordedRelief[],
  zone: ZoneName,
): string {
  const relief = reliefs.find(({ at, outcome }) => at === dueAt && outcome === "complete");
  if (relief) return `${reliefWords[relief.kind]}, held ${Math.round(relief.hold)} s`;
  const off = runsOfRow(row).findLast(
    ({ state, start }) => (state === "off" || state === "on-charge") && start <= dueAt,
  );
  return off ? `off the cushion since ${timeWords(off.start, zone)}` : "off the cushion for long enough";
}

/** Seated and recorded for the interval and the grace after it. */
function missedWords(
  { dueAt }: FairDue,
  plan: ReliefPlan | null,
  reliefs: readonly RecordedRelief[],
  zone: ZoneName,
): string {
  if (plan === null) return "seated, and none seen";
  const from = dueAt - plan.interval * millisecondsIn.minute;
  const until = graceEnds(dueAt, plan.interval);
  const short = reliefs.filter(({ at }) => at > from && at <= until).filter((one) => !qualifies(one, plan));
  const begun =
    short.length === 0
      ? ""
      : `; seen, but not what the plan asks for: ${short.map((one) => `${reliefWords[one.kind]} of ${Math.round(one.hold)} s at ${timeWords(one.at, zone)}`).join(", ")}`;
  return `seated for ${plan.interval} min, and none by ${timeWords(until, zone)}${begun}`;
}

function untoldWords(row: PersonLedgerDay, due: FairDue, by: DueExplained): Pick<Explained, "why" | "href"> {
  if (due.hidden)
    return { why: `none seen, and one may have been made: ${lower(due.hidden.words)}`, href: null };
  const run = runsOfRow(row).find(({ start, end }) => due.dueAt >= start && due.dueAt < end);
  const inGap = run !== undefined && (gapStates.includes(run.state) || run.state === "not-trusted");
  // Blind time runs on after the record is back, for one interval, and is rounded up after it (due-reliefs.ts).
  const reach = 2.5 * (planAt(by, due.dueAt)?.interval ?? 60) * millisecondsIn.minute;
  const stretch = by.stretchAt(row.loanId, instant(due.dueAt - reach), instant(due.dueAt + 1));
  const why = inGap
    ? run.state === "not-trusted"
      ? "what was recorded then is not to be trusted"
      : `no record from ${timeWords(run.start, by.zone)} to ${timeWords(run.end, by.zone)}`
    : stretch
      ? "beside a time without a record: when the clock started is not known"
      : "when the clock started is not known";
  return { why, href: stretch?.href ?? null };
}

const lower = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);
