import { median } from "../statistics/median.ts";
import { type Hours, hours, type Span } from "../units.ts";
import type { Discharge } from "./charge-history.ts";

/** How long a full charge would last in this unit's ordinary use, by one discharge. */
export interface Lasting extends Span {
  readonly from: number;
  readonly to: number;
  readonly hoursPerCharge: Hours;
}

/** Below this depth the voltage band is as wide as the change. Assumption. */
const shallowest = 0.15;

/** A unit draws less with nobody on it, by how much isn't known: a day's discharge then looks faster than a week's.
 *  The share is taken that makes successive discharges agree best, so that slow wear doesn't sway it; each discharge is
 *  then told in hours of the mix of sitting and standing empty that this unit has over all.
 *  @param discharges oldest first; shallow ones are passed over */
export function chargeLasting(discharges: readonly Discharge[]): Lasting[] {
  const deep = discharges.filter((run) => run.from - run.to >= shallowest && run.loaded + run.empty > 0);
  const share = emptyShare(deep);
  const loaded = deep.reduce((sum, run) => sum + run.loaded, 0);
  const empty = deep.reduce((sum, run) => sum + run.empty, 0);
  const perHour = (loaded + share * empty) / (loaded + empty);
  return deep.map((run) => ({
    start: run.start,
    end: run.end,
    from: run.from,
    to: run.to,
    hoursPerCharge: hours(useOf(run, share) / perHour / (run.from - run.to)),
  }));
}

const useOf = (run: Discharge, share: number): number => run.loaded + share * run.empty;

/** Draw while empty over draw while loaded, in steps of 0.05. */
function emptyShare(deep: readonly Discharge[]): number {
  let best = { share: 1, disagreement: Number.POSITIVE_INFINITY };
  for (let twentieth = 1; twentieth <= 20; twentieth++) {
    const share = twentieth / 20;
    const logs = deep.map((run) => Math.log(useOf(run, share) / (run.from - run.to)));
    const steps = logs.slice(1).map((value, index) => Math.abs(value - (logs[index] ?? value)));
    // The median step: one discharge through a bad battery contact must not decide.
    const disagreement = median(steps) ?? 0;
    if (disagreement < best.disagreement) best = { share, disagreement };
  }
  return best.share;
}
