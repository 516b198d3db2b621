import type { ResetReason } from "../record/unit-record.ts";
import type { Celsius, Hours, Instant, Millivolts, Span } from "../units.ts";
import type { ToldAround } from "./told-around.ts";

export type SeatOrCharge = "seated" | "off" | "on-charge";
export type NoteClue = "hospital" | "holiday" | "washed-cover" | "new-chair" | "visit";

/** How the unit's own numbering stands on the far side of a gap. */
export type Comeback =
  /** It went on recording through the gap; the messages came late, are still owed, or were overrun in its store. */
  | {
      readonly kind: "ran-on";
      readonly fate: "delivered" | "owed" | "lost";
      /** In one boot from before the gap until after it, the missing numbers between: it was never without power. */
      readonly unbroken?: boolean;
      readonly messages: number | null;
    }
  | { readonly kind: "restarted"; readonly reset: ResetReason };

export interface UsualCharges {
  /** Whole days that the gap lasted. */
  readonly days: number;
  readonly charged: number;
  readonly of: number;
  readonly chance: number;
}

/** What can be seen of a gap from outside it. null: not known, which is no evidence either way. */
export interface GapContext {
  /** `end` is the time of the review while it goes on. */
  readonly span: Span;
  readonly ongoing: boolean;
  /** When late data filled it. */
  readonly filledAt: Instant | null;
  /** Of the other units then on loan and expected to record, how many were silent with it. */
  readonly together: {
    readonly silent: number;
    readonly others: number;
    /** The same among those of the same area; left out: nobody knows who they are. */
    readonly near?: { readonly silent: number; readonly others: number };
    /** Hours for which four in five of the silent ones had been back when it came back, or by now; null: they hadn't. */
    readonly backFor: Hours | null;
  } | null;
  /** null while it goes on, or where nothing around it could be read. */
  readonly comeback: Comeback | null;
  readonly battery: {
    readonly path: "flat" | "plenty";
    readonly last: Millivolts;
    readonly cutOffReported: boolean;
  } | null;
  /** What a sound cell would still have held, as a share, by the charges that were seen. */
  readonly chargeLeft: { readonly share: number; readonly sinceCharge: number } | null;
  /** Days of record before it in which no full charge was seen; null: one was, or too few days were seen. */
  readonly neverFullIn?: number | null;
  /** Hours that nobody had sat on it when the record stopped, against the longest usual here. */
  readonly emptyFor: { readonly hours: Hours; readonly usual: Hours } | null;
  readonly sinceCharge: { readonly hours: Hours; readonly usual: Hours } | null;
  /** Usual charges that a gap of a day and more passed over: on how many of the days before that somebody sat on it
   *  and that were seen it was charged, and how likely so long without is by that habit. */
  readonly usualCharges?: UsualCharges | null;
  /** How charging went in the days before; `times` it broke off within minutes. */
  readonly charging: { readonly state: "broken" | "whole"; readonly times: number } | null;
  readonly capacity: { readonly state: "faded" | "sound" } | null;
  readonly signal: { readonly level: "none" | "weak" | "fine"; readonly minutesWithout: number } | null;
  readonly before: SeatOrCharge | null;
  readonly after: SeatOrCharge | null;
  /** How much colder the insert was on return; only where the seat was empty before and after. */
  readonly colderBy: Celsius | null;
  /** Notes on the loan over the time; "none" is itself known. */
  readonly note: { readonly kind: NoteClue; readonly from: Instant } | "none";
  /** Local hour at which it began. */
  readonly hour: number;
  readonly certificate: "good" | "refused" | null;
  /** Open findings of restarts or wet. null: the unit has not been assessed. */
  readonly electronics: { readonly signs: readonly string[] } | null;
  /** Earlier silences of this loan that lasted at least as long as this one does so far: those that the unit had
   *  recorded through, as what came in later proved, and the others. Only while it goes on. */
  readonly history: { readonly filled: number; readonly others: number } | null;
  /** What the unit told of its relay, its power, its store and its prompts around the gap. Left out: not looked for. */
  readonly told?: ToldAround;
}
