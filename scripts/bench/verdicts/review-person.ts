import type { DueRelief } from "../../../server/domain/adherence/adherence.ts";
import { type DueReliefs, dueReliefs } from "../../../server/domain/adherence/due-reliefs.ts";
import type { UnbrokenSit } from "../../../server/domain/adherence/relief-clock.ts";
import { clockAtRest } from "../../../server/domain/adherence/relief-clock.ts";
import type { ReliefPlan } from "../../../server/domain/adherence/relief-plan.ts";
import { loanId } from "../../../server/domain/ids.ts";
import { buildLedger, noMinutes } from "../../../server/domain/ledger/build-ledger.ts";
import { type FoundStretch, findGaps } from "../../../server/domain/ledger/find-gaps.ts";
import { findThinStretches } from "../../../server/domain/ledger/find-thin-stretches.ts";
import type { LedgerDay, LedgerRun, MinuteState } from "../../../server/domain/ledger/minute-state.ts";
import { cutGaps } from "../../../server/domain/ledger/ran-unheard.ts";
import { seenUntil } from "../../../server/domain/ledger/timeline.ts";
import type { RecordedRelief, UnitRecord } from "../../../server/domain/record/unit-record.ts";
import { defaultSettings } from "../../../server/domain/settings.ts";
import { dayBounds, daysTouched, type ZoneName, zoneName } from "../../../server/domain/time/local-day.ts";
import {
  type Instant,
  instant,
  millisecondsIn,
  minutes,
  type Span,
  seconds,
} from "../../../server/domain/units.ts";
import { atMinute, epoch } from "./record-of.ts";
import { changedHold, planHold, type SittingLife } from "./reliefs.ts";
import { slice } from "./slice.ts";
import type { UnitLife } from "./unit-life.ts";

export const zone: ZoneName = ((): ZoneName => {
  const london = zoneName("Europe/London");
  if (london === null) throw new Error("no zone data");
  return london;
})();

export interface Reviewed {
  readonly days: readonly (LedgerDay & { readonly due: readonly DueRelief[] })[];
  readonly gaps: readonly FoundStretch[];
  readonly thin: readonly FoundStretch[];
  readonly until: Instant;
}

export function plansOf(sitting: SittingLife): ReliefPlan[] {
  const kinds = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"] as const;
  const first = { version: 1, validFrom: epoch, interval: minutes(30), hold: seconds(planHold), kinds };
  return sitting.planChangesAt === null
    ? [first]
    : [
        first,
        { ...first, version: 2, validFrom: atMinute(sitting.planChangesAt), hold: seconds(changedHold) },
      ];
}

/** Ledger, reliefs, gaps and thin stretches of a whole loan, by the service's own rules.
 *  @param dayCount of the simulated time */
export const review = (record: UnitRecord, plans: readonly ReliefPlan[], dayCount: number): Reviewed =>
  reviewDays(record, plans, dayCount, dayCount);

/** The newest days of it only, as a review does that has one more day to work through. */
export function reviewDays(
  record: UnitRecord,
  plans: readonly ReliefPlan[],
  dayCount: number,
  newest: number,
): Reviewed {
  const until = instant(epoch + dayCount * 86_400_000);
  const start = instant(until - newest * 86_400_000);
  const window = { loan: loanId("loan"), start: epoch, end: null };
  const part =
    newest === dayCount ? record : slice(record, { start: instant(start - millisecondsIn.hour), end: until });
  const local = daysTouched({ start, end: until }, zone);
  return reviewOf(buildLedger({ window, record: part, now: until, zone }, local), record, plans, until);
}

/** The same of what there was to see, had the unit been on and heard all the time. */
export function wholeReview(
  life: UnitLife,
  reliefs: readonly RecordedRelief[],
  plans: readonly ReliefPlan[],
  dayCount: number,
): Reviewed {
  const until = instant(epoch + dayCount * 86_400_000);
  const days = daysTouched({ start: epoch, end: until }, zone).map((day) => ({
    loan: loanId("loan"),
    day,
    ...dayBounds(day, zone),
  }));
  const ledger = days.map((day) => ({ ...day, minutes: noMinutes(), runs: wholeRuns(life, day, until) }));
  return reviewOf(ledger, { reliefs, holes: [] }, plans, until);
}

function wholeRuns(life: UnitLife, { start, end }: Span, until: Instant): LedgerRun[] {
  const runs: LedgerRun[] = [];
  const from = Math.round((start - epoch) / millisecondsIn.minute);
  const to = Math.round((end - epoch) / millisecondsIn.minute);
  let began = from;
  for (let at = from; at < to; at += 1) {
    const state = wholeState(life, at, until);
    if (at + 1 < to && wholeState(life, at + 1, until) === state) continue;
    runs.push({ state, start: atMinute(began), end: atMinute(at + 1) });
    began = at + 1;
  }
  return runs;
}

function wholeState(life: UnitLife, at: number, until: Instant): MinuteState {
  if (at < 0) return "outside-loan";
  if (atMinute(at + 1) > until) return "to-come";
  if (life.seated[at] === 1) return "seated";
  return life.power[at] === 0 ? "off" : "on-charge";
}

function reviewOf(
  ledger: readonly LedgerDay[],
  { reliefs, holes }: Pick<UnitRecord, "reliefs" | "holes">,
  plans: readonly ReliefPlan[],
  until: Instant,
): Reviewed {
  const rules = {
    reliefs,
    plans,
    sufficientOffMinutes: defaultSettings.sufficientOffMinutes,
    until: seenUntil(ledger, until),
  };
  const sits: UnbrokenSit[] = [];
  let clock: DueReliefs["clock"] = clockAtRest;
  const days = ledger.map((day) => {
    const part = dueReliefs({ ...rules, days: [day] }, clock);
    sits.push(...part.sits);
    clock = part.clock;
    return { ...day, due: part.due };
  });
  return {
    days,
    gaps: cutGaps(findGaps(ledger, defaultSettings, until), holes, defaultSettings, until),
    thin: findThinStretches({ sits, clock }, defaultSettings),
    until,
  };
}
