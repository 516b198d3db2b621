import type { SequenceHole } from "../record/unit-record.ts";
import { exactShare } from "../statistics/exact-share.ts";
import { type Interval, millisecondsIn, type Span } from "../units.ts";

/** What of a unit's record is lost for good. Losses come in runs, so it is days that are counted for what is to come: one
 *  day's messages are no independent trials. */
export interface Loss {
  readonly messages: number;
  /** Of the time it recorded and that lies where it can be placed. */
  readonly share: number;
  /** Days on which something was lost, out of `days`, and as a share with its exact interval. */
  readonly lossDays: number;
  readonly days: number;
  readonly ofDays: Interval | null;
}

/** Minutes that a day lost, of those that can be placed. */
export function lostMinutes(holes: readonly SequenceHole[], { start, end }: Span): number {
  let lost = 0;
  for (const hole of holes) {
    if (hole.fate !== "lost" || hole.after === null) continue;
    const until = hole.before ?? hole.endsAbout ?? hole.after;
    lost += Math.max(0, Math.min(end, until) - Math.max(start, hole.after));
  }
  return Math.round(lost / millisecondsIn.minute);
}

export const sizeOf = (holes: readonly SequenceHole[], fate: SequenceHole["fate"]): number =>
  holes
    .filter((hole) => hole.fate === fate)
    .reduce((sum, hole) => sum + hole.toSequence - hole.fromSequence + 1, 0);

/** @param days with what each recorded and lost, minutes */
export function lossOf(
  holes: readonly SequenceHole[],
  days: readonly { readonly recordedMinutes: number; readonly lostMinutes: number }[],
): Loss {
  const recorded = days.reduce((sum, each) => sum + each.recordedMinutes, 0);
  const lost = days.reduce((sum, each) => sum + each.lostMinutes, 0);
  const lossDays = days.filter((each) => each.lostMinutes > 0).length;
  return {
    messages: sizeOf(holes, "lost"),
    share: lost === 0 ? 0 : lost / (recorded + lost),
    lossDays,
    days: days.length,
    ofDays: days.length === 0 ? null : exactShare(lossDays, days.length, 0.9),
  };
}
