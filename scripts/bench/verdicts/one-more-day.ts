import { defaultSettings } from "../../../server/domain/settings.ts";
import { judgeGap, judgeThin } from "../../../server/domain/verdicts/judge.ts";
import { Draws, seedOf } from "./chance.ts";
import { leftGapContexts, liveGapsOf } from "./gap-cases.ts";
import { processorMilliseconds } from "./processor-time.ts";
import { recordOf } from "./record-of.ts";
import { plansOf, review, reviewDays, zone } from "./review-person.ts";
import { simulatePerson } from "./simulate-person.ts";
import { thinContextsOf } from "./thin-cases.ts";
import { sharedTroubles } from "./troubles.ts";
import type { World } from "./world.ts";

const days = 60;
const units = 24;
/** A thin stretch is held against the days before it: their digests are worked out again. */
const habitDays = 18;

/** Seconds of processor time for one more day of 10,000 units: the ledger of the day and the one before it built anew, reliefs, gaps, thin
 *  stretches, and the verdicts of those that touch the day. Measured on fewer, each with its own 60 days; reading the
 *  stored messages is not in it. */
export function oneMoreDay(world: World, seed: number): number {
  const size = { seed, days, areas: 2 };
  const shared = sharedTroubles(new Draws(seedOf(seed, 1)), world, days, 2);
  let spent = 0;
  for (let index = 0; index < units; index += 1) {
    const one = simulatePerson(world, size, shared, index);
    const record = recordOf(one.noise, one.person, one.life, one.sitting, one.delivery);
    const plans = plansOf(one.sitting);
    const before = review(record, plans, days);
    const live = liveGapsOf(one);
    const touches = ({ end }: { readonly end: number | null }) =>
      end === null || end > before.until - 86_400_000;
    spent += processorMilliseconds(() => {
      const fresh = reviewDays(record, plans, days, 2);
      const reviewed = { ...fresh, days: [...before.days.slice(-habitDays, -2), ...fresh.days] };
      const gaps = { ...reviewed, gaps: fresh.gaps.filter(touches) };
      for (const context of leftGapContexts(one, record, gaps, live))
        judgeGap({ ...context, together: null }, defaultSettings, zone);
      const thin = { ...reviewed, thin: fresh.thin.filter(touches) };
      for (const context of thinContextsOf(one, record, thin)) judgeThin(context, defaultSettings, zone);
    });
  }
  return ((spent / units) * 10_000) / 1_000;
}
