import type { ReliefKind } from "../record/unit-record.ts";
import type { Instant, Minutes, Seconds } from "../units.ts";

/** What the clinician asks for. Never defaulted silently: regimens differ from person to person. */
export interface ReliefPlan {
  readonly version: number;
  readonly validFrom: Instant;
  /** Longest sit before a relief is due. */
  readonly interval: Minutes;
  /** How long a relief must be held to count. */
  readonly hold: Seconds;
  readonly kinds: readonly ReliefKind[];
}
