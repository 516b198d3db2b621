import type { MinuteState } from "../../server/domain/ledger/minute-state.ts";
import type { ReliefKind } from "../../server/domain/record/unit-record.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { Instant, Span } from "../../server/domain/units.ts";

/** Line of a bracket: solid where almost certain, dashed where likely, dotted where it can't be told yet. */
export type BracketLine = "settled" | "likely" | "open";

export interface RibbonBracket extends Span {
  /** A few words: the leading cause, or that none is known yet. */
  readonly label: string;
  readonly line: BracketLine;
  readonly href: string;
  /** Whole sentence of the verdict, for the table. */
  readonly sentence: string;
}

export interface RibbonRelief {
  readonly at: Instant;
  readonly kind: ReliefKind;
  /** Hold over the hold asked for; null: no plan was in force. */
  readonly holdShare: number | null;
  readonly holdSeconds: number;
  /** Long enough, complete and of a kind asked for. */
  readonly counts: boolean;
}

export interface RibbonDay extends Span {
  readonly day: LocalDay;
  /** Runs of this person's loans, in order; a day may hold two loans. */
  readonly runs: readonly (Span & { readonly state: MinuteState })[];
  readonly reliefs: readonly RibbonRelief[];
  readonly brackets: readonly RibbonBracket[];
  /** Seated time in which the unit could not have seen some reliefs. */
  readonly unseen: readonly (Span & { readonly words: string })[];
  /** Moments at which another unit took over. */
  readonly seams: readonly { readonly at: Instant; readonly words: string }[];
  /** Local hours to mark, with the instant each falls on: an hour shown twice or not at all lands where it should. */
  readonly hours: readonly { readonly at: Instant; readonly hour: number }[];
  readonly met: number;
  readonly missed: number;
  readonly notAssessable: number;
}
