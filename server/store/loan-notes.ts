import { and, desc, eq, gt, isNull, lt, or } from "drizzle-orm";
import type { LoanId } from "../domain/ids.ts";
import type { Span } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { loanNote, staff } from "./schema.ts";

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

export type LoanNoteWithWriter = ReturnType<typeof notesOfLoan>[number];

/** Notes whose time touches the span; one without an end goes on. */
export const notesOfLoanDuring = (db: Database, id: LoanId, span: Span): readonly LoanNoteRow[] =>
  db
    .select()
    .from(loanNote)
    .where(
      and(
        eq(loanNote.loanId, id),
        lt(loanNote.fromAt, span.end),
        or(isNull(loanNote.untilAt), gt(loanNote.untilAt, span.start)),
      ),
    )
    .orderBy(loanNote.fromAt)
    .all();

export function insertLoanNote(db: Database, row: LoanNoteRow): void {
  db.insert(loanNote).values(row).run();
}
