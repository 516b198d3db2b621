import type { ConditionLevel, FindingKind } from "../../server/domain/condition/condition.ts";
import type { Instant, Probability } from "../../server/domain/units.ts";

/** A finding as the pages of this desk show it. */
export interface FindingLine {
  readonly id: string;
  readonly kind: FindingKind;
  readonly where: string;
  readonly level: ConditionLevel;
  readonly probability: Probability;
  readonly since: Instant;
  readonly lastSeenAt: Instant;
  readonly clearedAt: Instant | null;
  readonly sentence: string;
  readonly mistakenFor: string;
  readonly settledBy: string;
  readonly judgement: "confirmed" | "refuted" | null;
  readonly judgedBy: string | null;
  readonly judgedAt: Instant | null;
}
