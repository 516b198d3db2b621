import type { Instant, Probability } from "../../units.ts";
import type { ConditionLevel, FindingKind } from "../condition.ts";

/** A finding before it has a row of its own. `kind` and `where` name it from one assessment to the next. */
export interface FoundNow {
  readonly kind: FindingKind;
  readonly where: string;
  readonly level: ConditionLevel;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sentence: string;
  readonly mistakenFor: string;
  readonly settledBy: string;
}
