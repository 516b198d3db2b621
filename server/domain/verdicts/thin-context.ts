import type { LeanDirection } from "../condition/condition.ts";
import type { ReliefKind } from "../record/unit-record.ts";
import type { Instant, Span } from "../units.ts";
import type { NoteClue } from "./gap-context.ts";
import type { StirCount } from "./stirs.ts";

/** What the unit could see at the time, from its last assessment and the findings then open. */
export interface Eyes {
  /** Directions it would miss at least half of. null: part of the grid is dead, and nobody has worked out what it
   *  hides. */
  readonly hidden: readonly LeanDirection[] | null;
  /** "column 13, right side": the open line, if any. */
  readonly deadLine: string | null;
  readonly drifted: boolean;
  /** The grid's own picture says that the insert lies turned, shifted or folded. */
  readonly insertOff?: boolean;
}

/** Shares of due reliefs met, earlier and lately; of observed days only. */
export interface Habit {
  readonly earlier: { readonly met: number; readonly due: number; readonly days: number };
  readonly lately: { readonly met: number; readonly due: number; readonly days: number };
  /** The weeks before the earlier days: what has been so for a fortnight may still be a change. null: too few seen. */
  readonly longAgo: { readonly met: number; readonly due: number; readonly days: number } | null;
}

export type KindCounts = Readonly<Partial<Record<ReliefKind, number>>>;

/** What can be seen of a thin stretch. null: not known, which is no evidence either way. */
export interface ThinContext {
  /** `end` is the time of the review while it goes on. */
  readonly span: Span;
  readonly ongoing: boolean;
  /** Reliefs due within it. */
  readonly due: number;
  readonly eyes: Eyes | null;
  readonly habit: Habit | null;
  /** Completed reliefs by kind: over the 14 days before, and over the three days around the stretch. */
  readonly mix: { readonly earlier: KindCounts; readonly lately: KindCounts } | null;
  /** Reliefs that followed a prompt, a day, and those that didn't. */
  readonly prompts: {
    readonly earlierPrompted: number;
    readonly latelyPrompted: number;
    readonly earlierUnprompted: number;
    readonly latelyUnprompted: number;
    /** Of the prompts that the unit said it gave, a day: given, and followed by a relief. null: it says nothing of them. */
    readonly given: {
      readonly earlier: { readonly given: number; readonly followed: number };
      readonly lately: { readonly given: number; readonly followed: number };
    } | null;
  } | null;
  /** Short or broken-off reliefs within it, and how many of those the plan before this one would have counted. */
  readonly tries: { readonly count: number; readonly countedBefore: number } | null;
  /** Times in it, of so many seated minutes, that the load shifted and came back without a relief being recorded,
   *  beside the earlier days. */
  readonly stirs: {
    readonly count: number;
    readonly minutes: number;
    readonly usual: StirCount & { readonly seatedMinutes: number };
  } | null;
  /** Mean load in it over the mean of earlier days, and whether the centre of pressure lies on the other side. */
  readonly load: { readonly ratio: number; readonly turned: boolean } | null;
  readonly note: { readonly kind: NoteClue; readonly from: Instant } | "none";
  /** Start of the plan version in force, where it is recent. */
  readonly planChangedAt: Instant | null;
}
