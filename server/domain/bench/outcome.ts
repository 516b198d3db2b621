import { type Forgetting, reasonToForgetFirst } from "./forgetting.ts";
import { badCellsOf, type StepsTaken } from "./judge-step.ts";
import type { JudgedLine } from "./reading.ts";
import { type BenchOutcome, outcomes } from "./session.ts";
import { type StepId, stepById, stepIds } from "./steps.ts";

export interface Choice {
  readonly outcome: BenchOutcome;
  /** What stands against it; empty: it may be chosen. */
  readonly against: readonly string[];
}

export interface Standing {
  readonly notDone: readonly StepId[];
  readonly unsettled: readonly StepId[];
  readonly failed: readonly StepId[];
  readonly masked: readonly number[];
  readonly hazard: boolean;
}

const linesOf = (taken: StepsTaken, step: StepId): readonly JudgedLine[] =>
  taken.get(step)?.judged?.lines ?? [];

/** Where a session stands. A failure that masking makes good doesn't count as failed. */
export function standingOf(taken: StepsTaken): Standing {
  const done = stepIds.filter((id) => taken.get(id)?.judged != null);
  const having = (test: (line: JudgedLine) => boolean): StepId[] =>
    done.filter((id) => linesOf(taken, id).some(test));
  return {
    notDone: stepIds.filter((id) => !done.includes(id)),
    unsettled: having(({ decision }) => decision === "not-settled"),
    failed: having(({ decision, maskable }) => decision === "fail" && !maskable),
    masked: [...badCellsOf(taken)].sort((a, b) => a - b),
    hazard: done.some((id) => taken.get(id)?.judged?.hazard === true),
  };
}

/** Which outcomes the readings allow. Repair and retiring are always open; a pass only where everything is done and
 *  settled, and nothing of a person is left in the unit: it goes into stock from here.
 *  @param cells that the grid has; @param maskedShare that the model allows */
export function choicesFor(
  standing: Standing,
  cells: number,
  maskedShare: number,
  forgetting: Forgetting,
): readonly Choice[] {
  const keeps = reasonToForgetFirst(forgetting);
  return outcomes.map((outcome) => {
    const against = reasonsAgainst(outcome, standing, cells, maskedShare);
    const isPass = outcome === "pass" || outcome === "pass-masked";
    return { outcome, against: isPass && keeps !== null ? [...against, keeps] : against };
  });
}

function reasonsAgainst(
  outcome: BenchOutcome,
  standing: Standing,
  cells: number,
  maskedShare: number,
): readonly string[] {
  if (outcome === "repair" || outcome === "retire") return [];
  const { masked } = standing;
  const most = Math.floor(maskedShare * cells);
  return [
    ...(standing.hazard ? ["The battery is not safe."] : []),
    ...named("Not done yet", standing.notDone),
    ...named("Not settled, to be repeated", standing.unsettled),
    ...named("Out of tolerance", standing.failed),
    ...(outcome === "pass" && masked.length > 0
      ? [
          masked.length === 1
            ? "One cell is out of tolerance."
            : `${masked.length} cells are out of tolerance.`,
        ]
      : []),
    ...(outcome === "pass-masked" && masked.length === 0 ? ["There is no cell to mask."] : []),
    ...(outcome === "pass-masked" && masked.length > most
      ? [
          `${masked.length} ${masked.length === 1 ? "cell" : "cells"} would be masked; this model allows ${most}.`,
        ]
      : []),
  ];
}

const named = (what: string, steps: readonly StepId[]): readonly string[] =>
  steps.length === 0 ? [] : [`${what}: ${steps.map((id) => stepById(id).title.toLowerCase()).join(", ")}.`];
