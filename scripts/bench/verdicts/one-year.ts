import { defaultSettings } from "../../../server/domain/settings.ts";
import { judgeGap, judgeThin } from "../../../server/domain/verdicts/judge.ts";
import { Draws, seedOf } from "./chance.ts";
import { leftGapContexts, liveGapsOf } from "./gap-cases.ts";
import { processorMilliseconds } from "./processor-time.ts";
import { recordOf } from "./record-of.ts";
import { plansOf, review, zone } from "./review-person.ts";
import { simulatePerson } from "./simulate-person.ts";
import { thinContextsOf } from "./thin-cases.ts";
import { sharedTroubles } from "./troubles.ts";
import type { World } from "./world.ts";

/** Milliseconds of processor time from one unit's placed record of a year to all its verdicts; the best of three, as the
 *  machine may be doing other work. Reading and decoding the stored messages is not in it. */
export function oneYearOfVerdicts(world: World, seed: number): number {
  const size = { seed, days: 365, areas: 1 };
  const shared = sharedTroubles(new Draws(seedOf(seed, 1)), world, size.days, 1);
  const one = simulatePerson(world, size, shared, 3);
  const record = recordOf(one.noise, one.person, one.life, one.sitting, one.delivery);
  const live = liveGapsOf(one);
  const once = (): void => {
    const reviewed = review(record, plansOf(one.sitting), size.days);
    for (const context of leftGapContexts(one, record, reviewed, live))
      judgeGap({ ...context, together: null }, defaultSettings, zone);
    for (const context of thinContextsOf(one, record, reviewed)) judgeThin(context, defaultSettings, zone);
  };
  return Math.min(...[1, 2, 3].map(() => processorMilliseconds(once)));
}
