import { defaultSettings } from "../../../server/domain/settings.ts";
import { gapObservations } from "../../../server/domain/verdicts/gap-observations.ts";
import { judgeGap, judgeThin } from "../../../server/domain/verdicts/judge.ts";
import { thinObservations } from "../../../server/domain/verdicts/thin-observations.ts";
import { type Side, sides, type Verdict } from "../../../server/domain/verdicts/verdict.ts";
import { sideOf } from "./causes-in-truth.ts";
import type { Scored } from "./measures.ts";
import { zone } from "./review-person.ts";
import type { JudgeableGap } from "./simulate-programme.ts";
import type { ThinCase } from "./thin-cases.ts";

export interface Judged<Case> extends Scored {
  readonly case: Case;
  readonly verdict: Verdict;
  readonly side: Side;
  /** The clues as the model sees them, for the oracle. */
  readonly clues: readonly string[];
}

export function judgedGap(gap: JudgeableGap): Judged<JudgeableGap> {
  const { context, truth } = gap;
  const clues = [...gapObservations(context, zone), length(context.span.end - context.span.start)];
  const { history } = context;
  if (history && history.filled + history.others > 0)
    clues.push({
      clue: "history",
      values: [String(Math.round((4 * history.filled) / (history.filled + history.others)))],
      sentence: "",
    });
  return judged(gap, judgeGap(context, defaultSettings, zone), sideOf(truth), clues);
}

/** The model has it in its starting shares; the oracle counts it as a clue. */
function length(lasted: number) {
  const hours = lasted / 3_600_000;
  const band = hours < 1 ? "1" : hours < 4 ? "4" : hours < 24 ? "24" : hours < 72 ? "72" : "more";
  return { clue: "length", values: [band], sentence: "" };
}

export const judgedThin = (thin: ThinCase): Judged<ThinCase> =>
  judged(
    thin,
    judgeThin(thin.context, defaultSettings, zone),
    sideOf(thin.truth),
    thinObservations(thin.context, zone),
  );

function judged<Case>(
  one: Case,
  verdict: Verdict,
  side: Side,
  observations: readonly { readonly clue: string; readonly values: readonly string[] }[],
): Judged<Case> {
  return {
    case: one,
    verdict,
    side,
    shares: sides.map((each) => verdict.sides[each]),
    truth: sides.indexOf(side),
    clues: observations.map(({ clue, values }) => `${clue}=${values.join("|")}`),
  };
}
