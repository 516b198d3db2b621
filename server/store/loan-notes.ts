import { and, desc, eq, gt, inArray, isNull, lte, or } from "drizzle-orm";
import type { LoanId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { loanNote } from "./schema/loans.ts";
import { staff } from "./schema/staff.ts";

export type LoanNoteRow = typeof loanNote.$inferSelect;

const noteWithWriter = {
  id: loanNote.id,
  loanId: loanNote.loanId,
  kind: loanNote.kind,
  fromAt: loanNote.fromAt,
  untilAt: loanNote.untilAt,
  text: loanNote.text,
  writtenBy: loanNote.writtenBy,
  writtenAt: loanNote.writtenAt,
  writerName: staff.name,
};

/** Latest first. */
export const notesOfLoan = (db: Database, id: LoanId) =>
  db
    .select(noteWithWriter)
    .from(loanNote)
    .innerJoin(staff, eq(staff.id, loanNote.writtenBy))
    .where(eq(loanNote.loanId, id))
    .orderBy(desc(loanNote.fromAt), desc(loanNote.writtenAt))
    .all();

/** Loans of which a stay away from home is noted for `at`; in hospital before all else. */
export function loansAwayAt(db: Database, at: Instant): ReadonlyMap<LoanId, "hospital" | "holiday"> {
  const rows = db
    .select({ loan: loanNote.loanId, kind: loanNote.kind })
    .from(loanNote)
    .where(
      and(
        inArray(loanNote.kind, ["hospital", "holiday"]),
        lte(loanNote.fromAt, at),
        or(isNull(loanNote.untilAt), gt(loanNote.untilAt, at)),
      ),
    )
    .all();
  const away = new Map<LoanId, "hospital" | "holiday">();
  for (const { loan, kind } of rows)
    if (kind === "hospital" || !away.has(loan)) away.set(loan, kind === "hospital" ? kind : "holiday");
  return away;
}

export function insertLoanNote(db: Database, row: LoanNoteRow): void {
  db.insert(loanNote).values(row).run();
}
