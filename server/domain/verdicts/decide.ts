import { type Probability, probability } from "../units.ts";
import type { Cause } from "./causes.ts";
import { harmTable, leastHarm, type Thresholds } from "./harm.ts";
import type { Side } from "./verdict.ts";

export interface Decision {
  readonly outcome: Side | "not-settled";
  readonly leadingSide: Side;
  readonly probability: Probability;
  readonly threshold: Probability;
  readonly sides: Readonly<Record<Side, Probability>>;
}

/** Order in which equal sides are named: an explanation by the device comes first, the person last. */
const inFairness = ["device", "link", "handling", "person"] as const satisfies readonly Side[];
/** Sums of floating-point shares closer than this are equal. */
const tie = 1e-9;

export function sidesOf(causes: readonly Cause[], shares: readonly number[]): Record<Side, Probability> {
  const of = (side: Side) =>
    probability(
      causes.reduce((sum, cause, index) => sum + (cause.side === side ? (shares[index] ?? 0) : 0), 0),
    );
  return { device: of("device"), link: of("link"), handling: of("handling"), person: of("person") };
}

/** Gives the answer with the least expected harm (harm.ts), which is to name a side only from its threshold up; below it,
 *  says so and keeps the best guess. The person's side is the best guess only where it is likelier than all the others
 *  together: while it is not, the likeliest of the others is named first (common practice, no source: a guess about a
 *  person is heard as blame).
 *  @param isHeldBack the person's side is not to be settled on, however likely (held-back.ts) */
export function decide(
  sides: Readonly<Record<Side, Probability>>,
  thresholds: Thresholds,
  isHeldBack: boolean,
): Decision {
  const likeliest = inFairness.reduce<Side>(
    (best, side) => (sides[side] > sides[best] + tie ? side : best),
    inFairness[0],
  );
  const leadingSide = likeliest === "person" && sides.person <= 0.5 + tie ? likeliestOther(sides) : likeliest;
  const threshold = probability(
    leadingSide === "person" ? thresholds.settledThresholdPerson : thresholds.settledThreshold,
  );
  const answer = leastHarm(sides, harmTable(thresholds));
  return {
    outcome: answer === "person" && isHeldBack ? "not-settled" : answer,
    leadingSide,
    probability: sides[leadingSide],
    threshold,
    sides,
  };
}

const likeliestOther = (sides: Readonly<Record<Side, Probability>>): Side =>
  inFairness
    .filter((side) => side !== "person")
    .reduce<Side>((best, side) => (sides[side] > sides[best] + tie ? side : best), "device");
