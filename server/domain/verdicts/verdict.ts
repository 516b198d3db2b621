import type { LoanId, StretchId } from "../ids.ts";
import type { Instant, Probability, Span } from "../units.ts";

/** `gap`: loan time with no record. `thin`: seated and recorded, reliefs due, none seen. */
export type StretchKind = "gap" | "thin";

/** A stretch of a loan that asks a question. `end` null: still going on at the time of the last review. */
export interface Stretch {
  readonly id: StretchId;
  readonly loan: LoanId;
  readonly kind: StretchKind;
  readonly start: Instant;
  readonly end: Instant | null;
  readonly firstSeenAt: Instant;
  /** Late data can fill a gap: then it stays listed, with the moment it was filled. */
  readonly filledAt: Instant | null;
}

export const sides = ["device", "link", "handling", "person"] as const;
export type Side = (typeof sides)[number];

export interface CauseShare {
  /** Id in the catalogue, causes.ts. */
  readonly cause: string;
  /** As shown: "the battery ran flat before it was charged". */
  readonly words: string;
  readonly side: Side;
  readonly prior: Probability;
  readonly probability: Probability;
}

/** One clue and how it moved the answer. `weight` is in decibans: 10 log10 of how many times the odds on the leading
 *  side grew when this clue joined all the others. Positive speaks for that side, negative against. */
export interface EvidenceLine {
  readonly clue: string;
  readonly sentence: string;
  readonly weight: number;
}

/** A test that would settle it, with what it is expected to tell of the side (bits) for its effort (minutes of work). */
export interface SettlingTest {
  readonly test: string;
  readonly sentence: string;
  readonly desk: "stores" | "bench" | "clinic";
  readonly expectedBits: number;
  readonly effortMinutes: number;
  /** Kind words for the phone, where the test is a call. */
  readonly wording: string | null;
}

/** A change of evidence that would give another answer, all else as it was. */
export interface AnswerChange {
  /** One clue, or two where no one would do. */
  readonly clues: readonly { readonly clue: string; readonly value: string }[];
  readonly outcome: Side | "not-settled";
  readonly leadingSide: Side;
  /** Of the side then named first. */
  readonly probability: Probability;
  /** How far the odds on the side now named first would move, in decibans. */
  readonly moves: number;
  /** Somebody may still find it (a note, a finding, a unit's return); else it is what was measured at the time. */
  readonly mayStillCome: boolean;
  readonly sentence: string;
}

/** What we say of a stretch. `outcome` is a side only where its probability passes the threshold for that side. */
export interface Verdict {
  readonly outcome: Side | "not-settled";
  /** The side named first, whether or not it passed its threshold; the person only where likelier than all others. */
  readonly leadingSide: Side;
  readonly probability: Probability;
  readonly threshold: Probability;
  readonly sides: Readonly<Record<Side, Probability>>;
  readonly causes: readonly CauseShare[];
  readonly evidence: readonly EvidenceLine[];
  readonly settle: readonly SettlingTest[];
  /** Smallest first; empty: no one or two clues could. Verdicts of an earlier release don't have it. */
  readonly wouldChange?: readonly AnswerChange[];
  /** Why the person's side, though it leads, is not settled on however likely it is (held-back.ts). */
  readonly heldBack?: string;
  /** One sentence a clinician can read aloud. */
  readonly sentence: string;
  readonly span: Span;
}

/** A verdict as it was held from `computedAt` until `supersededAt`. */
export interface HeldVerdict {
  readonly verdict: Verdict;
  readonly computedAt: Instant;
  readonly supersededAt: Instant | null;
}
