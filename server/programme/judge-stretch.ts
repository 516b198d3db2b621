import type { StretchId } from "../domain/ids.ts";
import { priorsFor } from "../domain/verdicts/causes.ts";
import { judgeGap, judgeThin } from "../domain/verdicts/judge.ts";
import type { Stretch, Verdict } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { settingsInForce } from "../store/settings.ts";
import { testsDoneOn } from "../store/test-requests.ts";
import { gapContextOf } from "./gap-context.ts";
import type { JudgedLoan } from "./judged-loan.ts";
import { sharesInForce } from "./learned-shares.ts";
import { type LoanDays, loanDays } from "./loan-days.ts";
import { thinContextOf } from "./thin-context.ts";

export interface StretchToJudge {
  readonly loan: JudgedLoan;
  readonly stretch: Stretch;
  /** Shared by the stretches of one review, so that a habit day is read once for all of them. */
  readonly days?: LoanDays;
}

/** Judges one stretch from everything known now: what the unit recorded around it, the loan's ledger days so far, the
 *  other units, findings, notes, certificates, plan and the tests done to settle it. Reads only; the caller saves with `saveVerdict`. */
export async function judgeStretch(services: Services, request: StretchToJudge): Promise<Verdict> {
  const { loan, stretch } = request;
  const settings = settingsInForce(services.db);
  const shares = settings.useLearnedShares >= 0.5 ? sharesInForce(services.db) : priorsFor;
  const tests = testsDoneOn(services.db, stretch.id);
  const days = request.days ?? loanDays(services);
  if (stretch.kind === "gap") {
    return judgeGap(
      await gapContextOf(services, loan, stretch, days),
      settings,
      services.zone,
      shares,
      tests,
    );
  }
  const context = await thinContextOf(services, loan, stretch, days);
  return judgeThin(context, settings, services.zone, shares, tests);
}

/** Judges several stretches of one loan, reading what they share once. */
export async function judgeStretches(
  services: Services,
  loan: JudgedLoan,
  stretches: readonly Stretch[],
): Promise<ReadonlyMap<StretchId, Verdict>> {
  const days = loanDays(services);
  const verdicts = new Map<StretchId, Verdict>();
  for (const stretch of stretches) {
    verdicts.set(stretch.id, await judgeStretch(services, { loan, stretch, days }));
  }
  return verdicts;
}
