import type { Instant, Span } from "../units.ts";

/** One due relief. The clock starts at the last qualifying off-load (a relief, or enough time off the cushion) and
 *  an opportunity that meets a gap is `not-assessable`, never missed. */
export interface DueRelief {
  readonly dueAt: Instant;
  readonly outcome: "met" | "missed" | "not-assessable";
}

/** Counts of due reliefs over a stretch, with the bounds that hold whatever happened in the unseen part.
 *  Source: Manski, C. F. 2005, Int J Approximate Reasoning 39:151 (no-assumption bounds). */
export interface Adherence {
  readonly over: Span;
  readonly met: number;
  readonly missed: number;
  readonly notAssessable: number;
  /** Share met if every unseen one was missed, of those seen, and if every unseen one was met. null: none were due. */
  readonly share: { readonly low: number; readonly seen: number | null; readonly high: number } | null;
}
