import type { Interval } from "../units.ts";

/** How fit a unit is, worst last. */
export const conditions = ["sound", "watch", "act-soon", "act-now"] as const;
export type ConditionLevel = (typeof conditions)[number];

export type FindingKind =
  | "row-open"
  | "column-open"
  | "cell-open"
  | "cell-stuck"
  | "lines-shorted"
  | "connector-loose"
  | "moisture"
  | "insert-turned"
  | "insert-shifted"
  | "insert-folded"
  | "foam-bottoming"
  | "cover-loose"
  | "zero-drift"
  | "gain-or-weight"
  | "capacity-fade"
  | "flat-battery"
  | "flat-soon"
  | "resistance-rise"
  | "self-discharge"
  | "charge-heat"
  | "wet"
  | "wet-on-charge"
  | "charge-outside-limits"
  | "charge-cold"
  | "early-cut-off"
  | "self-test-failed"
  | "weak-link"
  | "signal-fading"
  | "link-comes-and-goes"
  | "reset-loop"
  | "store-overrun"
  /** Not of the record: the way in tells of it. */
  | "two-devices";

export type LeanDirection = "left" | "right" | "forward";

/** Of ten reliefs in a direction, how many this unit would show today. */
export interface LeanVisibility {
  readonly direction: LeanDirection;
  readonly sight: "sees" | "weak" | "blind";
  readonly outOfTen: Interval;
}
