import { millisecondsIn } from "../domain/units.ts";
import type { JudgedStretch, PersonLedgerDay } from "../store/clinic-stretches.ts";
import { fairDue } from "./clinic-counts.ts";

/** Due reliefs that can't be told and lie in gaps whose verdict, settled, says that the cushion was not in use. Just
 *  beside a gap somebody did sit. */
export function inGapsNobodySat(
  ledger: readonly PersonLedgerDay[],
  stretches: readonly JudgedStretch[],
): number {
  const unused = stretches.filter(
    ({ kind, filledAt, verdict }) =>
      kind === "gap" && filledAt === null && verdict !== null && verdict.outcome === "person",
  );
  return ledger.reduce(
    (sum, row) =>
      sum +
      fairDue(row, []).filter(
        ({ dueAt, outcome }) =>
          outcome === "not-assessable" &&
          unused.some(
            ({ loanId, startsAt, endsAt }) =>
              loanId === row.loanId &&
              dueAt >= startsAt &&
              (endsAt === null || dueAt < endsAt + millisecondsIn.minute),
          ),
      ).length,
    0,
  );
}
