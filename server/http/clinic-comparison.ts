import type { ComparisonShown, PeriodShown } from "../../views/clinic/comparison-part.tsx";
import { addCounts, boundsOf } from "../domain/adherence/bounds.ts";
import { comparePeriods } from "../domain/adherence/compare-periods.ts";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import { countsAsShare } from "../domain/adherence/share-days.ts";
import type { BorrowerId } from "../domain/ids.ts";
import type { Settings } from "../domain/settings.ts";
import { addDays, dayBounds, daysBetween, localDay } from "../domain/time/local-day.ts";
import type { Services } from "../services.ts";
import type { ClinicLoan } from "../store/clinic-people.ts";
import { ledgerOfPersonDuring } from "../store/clinic-stretches.ts";
import { hiddenTimes } from "./clinic-hidden.ts";
import type { DayRange } from "./clinic-range.ts";
import { type Segment, segmentsOf } from "./clinic-segments.ts";
import type { KnownOn } from "./known-on.ts";
import type { AppContext } from "./route.ts";

type Days = Pick<DayRange, "first" | "last">;
const mostDays = 366;

/** `?besideFrom=2026-04-01&besideTo=2026-04-14`; nonsense, or days that overlap those shown, become the same number of
 *  days right before. */
export function besideAsked(context: AppContext, { first, last }: Days): Days {
  const from = localDay(context.req.query("besideFrom") ?? "");
  const to = localDay(context.req.query("besideTo") ?? "");
  const isApart = from !== null && to !== null && from <= to && (to < first || from > last);
  if (isApart && daysBetween(from, to) < mostDays) return { first: from, last: to };
  return { first: addDays(first, -1 - daysBetween(first, last)), last: addDays(first, -1) };
}

/** An address of the page with the other days in it, where they were asked for. */
export const withBeside = (context: AppContext, url: string, { first, last }: Days): string =>
  context.req.query("besideFrom") === undefined ? url : `${url}&besideFrom=${first}&besideTo=${last}`;

interface Asked {
  readonly person: BorrowerId;
  readonly loans: readonly ClinicLoan[];
  readonly plans: readonly ReliefPlan[];
  readonly settings: Settings;
  readonly known: KnownOn | null;
}

/** The days shown beside others. @param these segments of the days shown */
export function comparisonShown(
  services: Services,
  asked: Asked,
  shown: Days & { readonly segments: readonly Segment[] },
  beside: Days,
): ComparisonShown {
  const others = segmentsDuring(services, asked, beside);
  const both = [...shown.segments, ...others];
  return {
    these: periodOf(shown, shown.segments),
    others: periodOf(beside, others),
    daysNeeded: asked.settings.daysForAFigure,
    dueNeeded: asked.settings.dueForAComparison,
    outcome: isOneOf(both.map(({ loan }) => loan))
      ? isOneOf(both.map(({ planVersion }) => planVersion))
        ? comparePeriods(
            shown.segments.flatMap(({ days }) => days),
            others.flatMap(({ days }) => days),
            { days: asked.settings.daysForAFigure, due: asked.settings.dueForAComparison },
          )
        : { kind: "other-plan" }
      : { kind: "other-unit" },
  };
}

const isOneOf = (values: readonly unknown[]): boolean => new Set(values).size <= 1;

function segmentsDuring(services: Services, asked: Asked, { first, last }: Days): Segment[] {
  const { db, zone } = services;
  const knownBy = asked.known?.end ?? null;
  const span = { start: dayBounds(first, zone).start, end: dayBounds(last, zone).end };
  const ledger = ledgerOfPersonDuring(db, asked.person, span, knownBy);
  const hidden = asked.loans.flatMap((loan) => hiddenTimes(services, loan, span, knownBy));
  return segmentsOf(ledger, hidden, asked.plans, asked.settings);
}

function periodOf({ first, last }: Days, segments: readonly Segment[]): PeriodShown {
  const days = segments.flatMap((segment) => segment.days);
  const counts = addCounts(days.map((day) => day.counts));
  return { first, last, daysCounted: days.filter(countsAsShare).length, counts, share: boundsOf(counts) };
}
