import type { Cause } from "./causes.ts";
import { type Decision, decide, sidesOf } from "./decide.ts";
import type { Thresholds } from "./harm.ts";
import { heldBack } from "./held-back.ts";
import type { Observation } from "./observation.ts";
import type { OtherEvidence } from "./other-evidence.ts";
import { spokenCertainty } from "./spoken.ts";
import type { AnswerChange, StretchKind } from "./verdict.ts";
import { sideWords } from "./verdict-sentence.ts";

interface Reasoning {
  readonly kind: StretchKind;
  readonly causes: readonly Cause[];
  readonly priors: readonly number[];
  readonly observations: readonly Pick<Observation, "clue" | "values">[];
  /** The rows that made the verdict, in the order of the observations. */
  readonly likelihoods: readonly (readonly number[])[];
  readonly thresholds: Thresholds;
}

/** More than this is no reading for anybody. */
const mostShown = 4;

/** The smallest changes of evidence that would give another answer, smallest first: each value of each clue is tried in
 *  place of what was seen, all else kept; where no one clue would do, the two that would with the least. The size is how
 *  far the odds on the side now named first move, in decibans. Of each other answer only the smallest change is told, once
 *  of what may still be found and once of what was measured.
 *  @returns empty: no one or two clues could change it */
export function whatWouldChange(
  decision: Decision,
  { kind, causes, priors, observations, likelihoods, thresholds }: Reasoning,
  others: readonly OtherEvidence[],
): AnswerChange[] {
  const logs = likelihoods.map((row) => row.map(Math.log));
  const base = causes.map((_, cause) =>
    logs.reduce((sum, row) => sum + (row[cause] ?? 0), Math.log(priors[cause] ?? 0)),
  );
  const now = oddsOn(decision, decision);
  const tried = (changed: readonly OtherEvidence[]): Tried => {
    const moved = base.map((log, cause) =>
      changed.reduce(
        (sum, { row, insteadOf }) =>
          sum + Math.log(row[cause] ?? 0) - (insteadOf === null ? 0 : (logs[insteadOf]?.[cause] ?? 0)),
        log,
      ),
    );
    const held = heldBack(kind, withInstead(observations, changed)) !== null;
    const then = decide(sidesOf(causes, normalised(moved)), thresholds, held);
    return { changed, then, moves: 10 * Math.log10(oddsOn(decision, then) / now) };
  };
  const ones = others.map((other) => tried([other]));
  const flips = ones.filter(({ then }) => then.outcome !== decision.outcome);
  const found =
    flips.length > 0
      ? flips
      : pairsOf(strongest(ones, decision))
          .map(tried)
          .filter(({ then }) => then.outcome !== decision.outcome);
  return smallestOfEach(found).map(told);
}

interface Tried {
  readonly changed: readonly OtherEvidence[];
  readonly then: Decision;
  readonly moves: number;
}

const withInstead = (
  observations: Reasoning["observations"],
  changed: readonly OtherEvidence[],
): Reasoning["observations"] => [
  ...observations.filter((_, place) => !changed.some(({ insteadOf }) => insteadOf === place)),
  ...changed.map(({ clue, value }) => ({ clue, values: [value] })),
];

function normalised(logs: readonly number[]): number[] {
  const highest = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - highest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}

/** Odds, then, on the side that is named first now. Sums the other sides: 1 - p would lose a near certainty. */
function oddsOn({ leadingSide }: Decision, { sides }: Decision): number {
  const { device, link, handling, person } = sides;
  const others = { device, link, handling, person, [leadingSide]: 0 };
  return sides[leadingSide] / (others.device + others.link + others.handling + others.person);
}

/** Of each clue the value that moves a settled answer's side down most, or an open one's up most. */
function strongest(ones: readonly Tried[], { outcome }: Decision): OtherEvidence[] {
  const down = outcome === "not-settled" ? -1 : 1;
  const best = new Map<string, { other: OtherEvidence; by: number }>();
  for (const { changed, moves } of ones) {
    const [other] = changed;
    if (!other) continue;
    const place = String(other.insteadOf ?? other.clue);
    const by = down * moves;
    if (by < (best.get(place)?.by ?? 0)) best.set(place, { other, by });
  }
  return [...best.values()].map(({ other }) => other);
}

const pairsOf = (others: readonly OtherEvidence[]): OtherEvidence[][] =>
  others.flatMap((one, place) => others.slice(place + 1).map((other) => [one, other]));

function smallestOfEach(found: readonly Tried[]): Tried[] {
  const kinds = new Set<string>();
  return [...found]
    .sort((a, b) => Math.abs(a.moves) - Math.abs(b.moves))
    .filter(({ changed, then }) => {
      const kind = `${then.outcome} ${changed.every(({ mayStillCome }) => mayStillCome)}`;
      const isFirst = !kinds.has(kind);
      kinds.add(kind);
      return isFirst;
    })
    .slice(0, mostShown);
}

function told({ changed, then, moves }: Tried): AnswerChange {
  const mayStillCome = changed.every((one) => one.mayStillCome);
  const opening = mayStillCome ? "Should it turn out that" : "Had the record shown that";
  const { outcome, leadingSide, probability } = then;
  const certainty = spokenCertainty(probability, outcome !== "not-settled");
  const answer =
    outcome === "not-settled"
      ? `it would be left open (${sideWords[leadingSide]} ${Math.round(probability * 100)} %)`
      : `the answer would be: ${certainty} ${sideWords[outcome]}`;
  return {
    clues: changed.map(({ clue, value }) => ({ clue, value })),
    outcome,
    leadingSide,
    probability,
    moves,
    mayStillCome,
    sentence: `${opening} ${changed.map(({ words }) => words).join(", and ")}, ${answer}.`,
  };
}
