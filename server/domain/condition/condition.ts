import type { FindingId, UnitSerial } from "../ids.ts";
import type { Instant, Interval, Probability } from "../units.ts";

/** How fit a unit is, worst last. */
export const conditions = ["sound", "watch", "act-soon", "act-now"] as const;
export type ConditionLevel = (typeof conditions)[number];

export interface UnitCondition {
  readonly unit: UnitSerial;
  readonly level: ConditionLevel;
  /** One sentence: the finding that set the level, and how sure. */
  readonly reason: string;
  readonly nextStep: string;
  readonly since: Instant | null;
  readonly assessedAt: Instant;
}

export type FindingKind =
  | "row-open"
  | "column-open"
  | "cell-open"
  | "cell-stuck"
  | "zero-drift"
  | "capacity-fade"
  | "flat-battery"
  | "charge-heat"
  | "wet"
  | "weak-link"
  | "reset-loop"
  | "store-overrun";

/** A health finding with its doubt, its look-alikes and the test that settles it. */
export interface Finding {
  readonly id: FindingId;
  readonly unit: UnitSerial;
  readonly kind: FindingKind;
  /** Where on the unit: "column 13, right side". Empty where the kind says it all. */
  readonly where: string;
  readonly level: ConditionLevel;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sentence: string;
  readonly mistakenFor: string;
  readonly settledBy: string;
  readonly lastSeenAt: Instant;
  readonly clearedAt: Instant | null;
}

export type LeanDirection = "left" | "right" | "forward";

/** Of ten reliefs in a direction, how many this unit would show today. */
export interface LeanVisibility {
  readonly direction: LeanDirection;
  readonly sight: "sees" | "weak" | "blind";
  readonly outOfTen: Interval;
}
