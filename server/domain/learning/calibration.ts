import { wilsonInterval } from "../statistics/wilson.ts";
import type { Interval } from "../units.ts";
import { type Side, sides, type Verdict } from "../verdicts/verdict.ts";

/** A verdict with what the stretch turned out to be afterwards. */
export interface ScoredVerdict {
  readonly held: Pick<Verdict, "outcome" | "leadingSide" | "probability" | "sides" | "causes">;
  readonly side: Side;
  readonly cause: string | null;
}

/** Certainty as the pages say it: the words of each band and where it begins. */
export const certaintyBands = [
  { words: "can't tell yet (under 50 %)", from: 0, to: 0.5 },
  { words: "can't tell yet (50 to 80 %)", from: 0.5, to: 0.8 },
  { words: "probably (80 to 95 %)", from: 0.8, to: 0.95 },
  { words: "almost certainly (95 % and over)", from: 0.95, to: 1.01 },
] as const;

export interface BandScore {
  readonly words: string;
  readonly verdicts: number;
  readonly right: number;
  /** Mean of the certainties said. null: none in the band. */
  readonly said: number | null;
  /** Share that turned out right, with its interval. null: none in the band. */
  readonly wasRight: Interval | null;
}

export interface Calibration {
  readonly verdicts: number;
  readonly bands: readonly BandScore[];
  /** Mean over verdicts of the sum over sides of the squared difference; 0 is perfect, 2 the worst. null: no verdicts.
   *  Source: Brier 1950, Mon Weather Rev 78:1 */
  readonly brier: number | null;
  /** Settled, and it turned out to be another side. */
  readonly overturned: number;
  /** Of those, settled on the person's side. */
  readonly wronglyThePerson: number;
  readonly confusedSides: readonly Confused<Side>[];
  readonly confusedCauses: readonly Confused[];
}

/** Said one, was the other; most frequent first. */
export interface Confused<Name extends string = string> {
  readonly said: Name;
  readonly was: Name;
  readonly times: number;
}

/** How far what was said can be believed, by what was found out afterwards. */
export function calibrationOf(scored: readonly ScoredVerdict[]): Calibration {
  const overturned = scored.filter(
    ({ held, side }) => held.outcome !== "not-settled" && held.outcome !== side,
  );
  return {
    verdicts: scored.length,
    bands: certaintyBands.map(({ words, from, to }) =>
      bandScore(
        words,
        scored.filter(({ held }) => held.probability >= from && held.probability < to),
      ),
    ),
    brier: scored.length === 0 ? null : mean(scored.map(brierOf)),
    overturned: overturned.length,
    wronglyThePerson: overturned.filter(({ held }) => held.outcome === "person").length,
    confusedSides: confused(scored.map(({ held, side }) => [held.leadingSide, side])),
    confusedCauses: confused(
      scored.flatMap(({ held, cause }) =>
        cause === null || held.causes[0] === undefined ? [] : [[held.causes[0].cause, cause] as const],
      ),
    ),
  };
}

/** What the bench made of verdicts that had been settled on the unit's side. One that it finds sound says that the verdict
 *  was wrong of the unit, and not whose side it was: so it stands beside the scores and in none of them. */
export interface BenchSaid {
  readonly tested: number;
  readonly sound: number;
}

export function benchSaid(
  results: readonly { readonly held: Verdict["outcome"]; readonly result: string | null }[],
): BenchSaid {
  const tested = results.filter(({ held }) => held === "device");
  return { tested: tested.length, sound: tested.filter(({ result }) => result === "sound").length };
}

export const brierOf = ({ held, side }: Pick<ScoredVerdict, "held" | "side">): number =>
  sides.reduce((sum, one) => sum + (held.sides[one] - (one === side ? 1 : 0)) ** 2, 0);

function bandScore(words: string, scored: readonly ScoredVerdict[]): BandScore {
  const n = scored.length;
  const right = scored.filter(({ held, side }) => held.leadingSide === side).length;
  if (n === 0) return { words, verdicts: 0, right: 0, said: null, wasRight: null };
  return {
    words,
    verdicts: n,
    right,
    said: mean(scored.map(({ held }) => held.probability)),
    wasRight: wilsonInterval(right / n, n, 0.95),
  };
}

function confused<Name extends string>(
  pairs: readonly (readonly [said: Name, was: Name])[],
): Confused<Name>[] {
  const times = new Map<string, Confused<Name>>();
  for (const [said, was] of pairs) {
    if (said === was) continue;
    const key = `${said} ${was}`;
    times.set(key, { said, was, times: (times.get(key)?.times ?? 0) + 1 });
  }
  return [...times.values()].sort((a, b) => b.times - a.times);
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
