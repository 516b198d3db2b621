import type { IncidentId } from "../ids.ts";
import type { Instant } from "../units.ts";
import type { SilenceScope } from "./silence-scopes.ts";

/** One line on a desk's list in place of one for each unit. */
export interface IncidentLine {
  readonly id: IncidentId;
  readonly scope: SilenceScope;
  readonly meaning: string;
  readonly start: Instant;
  readonly end: Instant | null;
  readonly expected: number;
  readonly silent: number;
  readonly back: number;
  /** Of the reader's own people; null where the reader has none of their own. */
  readonly own: number | null;
}
