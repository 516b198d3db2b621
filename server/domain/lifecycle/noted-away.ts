import { type Instant, instant, type Span } from "../units.ts";
import type { LoanNoteKind } from "./loan-note.ts";

/** Parts of `within` over which a stay in hospital or away from home is noted; a stay without an end goes on. */
export const notedAway = (
  notes: readonly {
    readonly kind: LoanNoteKind;
    readonly fromAt: Instant;
    readonly untilAt: Instant | null;
  }[],
  within: Span,
): Span[] =>
  notes
    .filter(({ kind }) => kind === "hospital" || kind === "holiday")
    .map(({ fromAt, untilAt }) => ({
      start: instant(Math.max(fromAt, within.start)),
      end: instant(Math.min(untilAt ?? within.end, within.end)),
    }))
    .filter(({ start, end }) => start < end);
