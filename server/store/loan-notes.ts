import { desc, eq } from "drizzle-orm";
import type { LoanId } from "../domain/ids.ts";
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

export function insertLoanNote(db: Database, row: LoanNoteRow): void {
  db.insert(loanNote).values(row).run();
}
