import { type Instant, type Probability, probability } from "../units.ts";
import { nothing, silent } from "./sit-reading.ts";

export interface BrokenOdds {
  /** Chance that it is broken, before any look. */
  readonly prior: number;
  /** Chance that one look says so: of a broken one, of a sound one. */
  readonly ifBroken: number;
  readonly ifSound: number;
  /** No number of looks makes it surer than this: somebody who always sits so would look the same every time. */
  readonly ceiling: number;
}

export interface BrokenSince {
  readonly probability: Probability;
  readonly since: Instant;
  readonly agreeing: number;
  readonly disagreeing: number;
}

/** Looks that deny it in a row before what came earlier stops counting: it answers again. Assumption. */
const answersAgain = 2;

/** Bayes' rule over the looks since it last worked. What counts is the unbroken run up to now.
 *  @param looks oldest first; @param answer what each says of the thing at `place`
 *  @returns null where it is likelier sound than broken */
export function brokenSince<Look extends { readonly at: Instant }>(
  looks: readonly Look[],
  answer: (look: Look, place: number) => number,
  place: number,
  odds: BrokenOdds,
): BrokenSince | null {
  let since: Instant | null = null;
  let agreeing = 0;
  let disagreeing = 0;
  // Backwards, to where it last worked: what came earlier doesn't count, and a sound one is told after two looks.
  let pending = 0;
  for (let index = looks.length - 1; index >= 0; index--) {
    const look = looks[index];
    if (!look) continue;
    const says = answer(look, place);
    if (says === nothing) continue;
    if (says !== silent) {
      if (++pending >= answersAgain) break;
      continue;
    }
    agreeing++;
    disagreeing += pending;
    pending = 0;
    since = look.at;
  }
  if (since === null) return null;
  const logOdds =
    Math.log(odds.prior / (1 - odds.prior)) +
    agreeing * Math.log(odds.ifBroken / odds.ifSound) +
    disagreeing * Math.log((1 - odds.ifBroken) / (1 - odds.ifSound));
  const broken = 1 / (1 + Math.exp(-logOdds));
  if (broken < 0.5) return null;
  return { probability: probability(Math.min(broken, odds.ceiling)), since, agreeing, disagreeing };
}
