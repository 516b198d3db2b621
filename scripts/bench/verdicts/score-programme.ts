import { type GapTruth, sideOf, type ThinTruth } from "./causes-in-truth.ts";
import type { GapMoment } from "./gap-cases.ts";
import { judgedGap, judgedThin } from "./judged.ts";
import type { Scored } from "./measures.ts";
import { batteryThenLinkRule, longestGapRule } from "./plain-rules.ts";
import { type ProgrammeSize, simulateProgramme } from "./simulate-programme.ts";
import { isInsideBounds, isInsideNarrower, widthShare } from "./weeks.ts";
import type { World } from "./world.ts";

/** One verdict beside the truth: all that the rows need of it, so that a programme can be kept in a small file. */
export interface ScoredVerdict extends Scored {
  readonly side: string;
  readonly cause: GapTruth | ThinTruth;
  readonly outcome: string;
  readonly leading: string;
  readonly likeliest: string;
  /** The clues as the model sees them, for the oracle. */
  readonly clues: readonly string[];
}

export interface ScoredGap extends ScoredVerdict {
  readonly moment: GapMoment;
  /** Minutes of it by the side that was behind them in truth. */
  readonly minutes: Readonly<Record<string, number>>;
  readonly byLongest: string;
  readonly byBattery: string;
}

export interface ScoredThin extends ScoredVerdict {
  readonly doneUnseen: boolean | null;
}

export interface ScoredWeek {
  readonly inside: boolean | null;
  readonly narrower: boolean | null;
  readonly width: number | null;
}

export interface ScoredProgramme {
  readonly gaps: readonly ScoredGap[];
  readonly thin: readonly ScoredThin[];
  readonly weeks: readonly ScoredWeek[];
}

export const says = (outcome: string) => (one: ScoredVerdict) => one.outcome === outcome;

export function scoreProgramme(world: World, size: ProgrammeSize): ScoredProgramme {
  const programme = simulateProgramme(world, size);
  return {
    gaps: programme.gaps.flatMap((gap): ScoredGap[] => {
      if (gap.truth === "none") return [];
      const { context, moment } = gap;
      const rules = { byLongest: longestGapRule(context), byBattery: batteryThenLinkRule(context) };
      return [{ ...scored(judgedGap(gap), gap.truth), moment, minutes: bySide(gap.minutes), ...rules }];
    }),
    thin: programme.thin.map((thin) => ({
      ...scored(judgedThin(thin), thin.truth),
      doneUnseen: thin.doneUnseen,
    })),
    weeks: programme.weeks.map((week) => ({
      inside: isInsideBounds(week),
      narrower: isInsideNarrower(week),
      width: widthShare(week),
    })),
  };
}

function bySide(minutes: ReadonlyMap<GapTruth, number>): Record<string, number> {
  const sums: Record<string, number> = {};
  for (const [cause, count] of minutes) sums[sideOf(cause)] = (sums[sideOf(cause)] ?? 0) + count;
  return sums;
}

const scored = (
  { shares, truth, clues, verdict }: ReturnType<typeof judgedGap> | ReturnType<typeof judgedThin>,
  cause: GapTruth | ThinTruth,
): ScoredVerdict => ({
  shares: shares.map((share) => Number(share.toFixed(6))),
  truth,
  clues,
  cause,
  side: sideOf(cause),
  outcome: verdict.outcome,
  leading: verdict.leadingSide,
  likeliest: verdict.causes[0]?.cause ?? "",
});
