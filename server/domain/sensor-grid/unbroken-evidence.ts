import { type Instant, type Probability, probability } from "../units.ts";

/** What one look says of something that may be broken. */
export interface Look {
  readonly at: Instant;
  readonly broken: boolean;
}

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
 *  @param looks oldest first
 *  @returns null where it is likelier sound than broken */
export function brokenSince(looks: readonly Look[], odds: BrokenOdds): BrokenSince | null {
  let since: Instant | null = null;
  let agreeing = 0;
  let disagreeing = 0;
  let denials = 0;
  for (const look of looks) {
    if (look.broken) {
      since ??= look.at;
      agreeing++;
      denials = 0;
    } else if (since !== null) {
      disagreeing++;
      denials++;
      if (denials >= answersAgain) {
        since = null;
        agreeing = 0;
        disagreeing = 0;
        denials = 0;
      }
    }
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
