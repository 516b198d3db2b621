import type { BorrowerId, LoanId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";

/** What of a loan a verdict needs; a row of the loans store fits. */
export interface JudgedLoan {
  readonly id: LoanId;
  readonly unitSerial: UnitSerial;
  readonly borrowerId: BorrowerId;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
}
