import type { TrendShown } from "../../views/clinic/trend-part.tsx";
import { countsAsShare } from "../domain/adherence/share-days.ts";
import { shareTrend } from "../domain/adherence/share-trend.ts";
import type { LoanId } from "../domain/ids.ts";
import type { Settings } from "../domain/settings.ts";
import type { Segment } from "./clinic-segments.ts";

/** A trend of each unit under each plan, or how many days it takes. */
export const trendShown = (
  segments: readonly Segment[],
  unitOf: (loan: LoanId) => string,
  settings: Settings,
): TrendShown => ({
  daysNeeded: settings.daysForATrend,
  segments: segments.map(({ loan, planVersion, days }) => ({
    unit: unitOf(loan),
    planVersion,
    daysCounted: days.filter(countsAsShare).length,
    trend: shareTrend(days, settings.daysForATrend),
  })),
});
