import type { Instant, Probability } from "../units.ts";
import { type ConditionLevel, conditions, type FindingKind } from "./condition.ts";

export interface JudgedFinding {
  readonly kind: FindingKind;
  readonly level: ConditionLevel;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sentence: string;
  readonly settledBy: string;
  readonly judgement: "confirmed" | "refuted" | null;
}

export interface ConditionNow {
  readonly level: ConditionLevel;
  readonly reason: string;
  readonly nextStep: string;
  readonly since: Instant | null;
}

/** The finding that weighs most says how fit the unit is; what a technician refuted doesn't.
 *  @param findings open ones */
export function conditionOf(findings: readonly JudgedFinding[]): ConditionNow {
  const weightiest = [...findings].filter(({ judgement }) => judgement !== "refuted").sort(byWeight)[0];
  if (!weightiest)
    return { level: "sound", reason: "Nothing found.", nextStep: "Nothing to do.", since: null };
  const { level, sentence, settledBy, since } = weightiest;
  return { level, reason: sentence, nextStep: settledBy, since };
}

/** Worst first; of the same level hazards, then the likelier, then the older. */
export function byWeight(a: JudgedFinding, b: JudgedFinding): number {
  return (
    conditions.indexOf(b.level) - conditions.indexOf(a.level) ||
    Number(isHazard(b.kind)) - Number(isHazard(a.kind)) ||
    b.probability - a.probability ||
    a.since - b.since
  );
}

const hazards: ReadonlySet<FindingKind> = new Set([
  "charge-heat",
  "wet",
  "wet-on-charge",
  "charge-outside-limits",
  "early-cut-off",
]);

export const isHazard = (kind: FindingKind): boolean => hazards.has(kind);
