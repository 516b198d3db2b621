import type { BorrowerId, LoanId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Stretch, Verdict } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";

/** What of a loan a verdict needs; a row of the loans store fits. */
export interface JudgedLoan {
  readonly id: LoanId;
  readonly unitSerial: UnitSerial;
  readonly borrowerId: BorrowerId;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
}

export interface StretchToJudge {
  readonly loan: JudgedLoan;
  readonly stretch: Stretch;
}

/** Judges one stretch from everything known now. Reads only, by itself; the caller saves with `saveVerdict`. */
export function judgeStretch(_services: Services, _request: StretchToJudge): Promise<Verdict> {
  throw new Error("not built yet");
}
