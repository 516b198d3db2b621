import type { ToldBySwap } from "../../server/domain/drift/after-swap.ts";
import { localDayOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { probability } from "../../server/domain/units.ts";
import { certaintyWords, dayWords } from "./words.ts";

/** The person's side needs a higher probability than the cushion's. Our convention. */
const enoughFor = { person: 0.9, cushion: 0.8 };

/** What a swap says of a load that had fallen, without saying whose. */
export function swapWords(told: ToldBySwap, zone: ZoneName): string {
  const { gone, came, swappedAt, fallenTo, reads, days, person } = told;
  const seen = `On unit ${gone} the settled load had fallen to ${share(fallenTo)} of what it was; after the swap on ${dayWords(localDayOf(swappedAt, zone))} unit ${came} reads ${share(reads)} of it, over ${days} days.`;
  if (person >= enoughFor.person)
    return `${seen} Two cushions agree: it is weight or the way of sitting, not unit ${gone}: ${certaintyWords(person, true)}. The person’s own scales settle it; ask kindly, also about backrest, armrests and footrests. It says nothing of reliefs.`;
  if (1 - person >= enoughFor.cushion)
    return `${seen} The load is back: it was unit ${gone}, not the person: ${certaintyWords(probability(1 - person), true)}. Known weights on the bench settle it.`;
  return `${seen} That lies between: ${certaintyWords(person, false)} that it is the person’s weight or way of sitting. The person’s own scales, or known weights on the bench, settle it.`;
}

const share = (of: number): string => `${Math.round(100 * of)}\u00a0%`;
