import { and, eq, isNull } from "drizzle-orm";
import type { Database } from "./database.ts";
import { borrower, loan } from "./schema/loans.ts";
import { stretch, verdict } from "./schema/verdicts.ts";

/** Open loans whose record is quiet now, with the current verdict of that gap. Gaps only: what a person did or didn't
 *  do on the cushion is not Stores' business. */
export const loansQuietNow = (db: Database) =>
  db
    .select({
      loanId: loan.id,
      reference: loan.reference,
      unitSerial: loan.unitSerial,
      borrowerName: borrower.name,
      phone: borrower.phone,
      since: stretch.startsAt,
      settle: verdict.verdict,
    })
    .from(stretch)
    .innerJoin(verdict, and(eq(verdict.stretchId, stretch.id), isNull(verdict.supersededAt)))
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(
      and(eq(stretch.kind, "gap"), isNull(stretch.endsAt), isNull(stretch.filledAt), isNull(loan.endedAt)),
    )
    .all()
    .map(({ settle, ...row }) => ({ ...row, settle: settle.settle }));
