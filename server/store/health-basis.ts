import { and, asc, desc, eq, inArray, isNotNull } from "drizzle-orm";
import type { BaselineChange } from "../domain/condition/baseline-change.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { benchSession } from "./schema/bench.ts";
import { loan, loanNote } from "./schema/loans.ts";

export interface Lending {
  readonly reference: string;
  readonly startedAt: Instant;
}

/** The loan under which this unit was last set up with somebody; null: it never was. */
export function lastLendingOf(db: Database, unit: UnitSerial): Lending | null {
  const row = db
    .select({ reference: loan.reference, startedAt: loan.startedAt })
    .from(loan)
    .where(and(eq(loan.unitSerial, unit), isNotNull(loan.startedAt)))
    .orderBy(desc(loan.openedAt))
    .limit(1)
    .get();
  return row?.startedAt ? { reference: row.reference, startedAt: row.startedAt } : null;
}

/** What happened to the unit, by the notes of a loan and by the bench, that changes how it reads. */
export function baselineChanges(
  db: Database,
  unit: UnitSerial,
  reference: string,
): readonly BaselineChange[] {
  const noted = db
    .select({ at: loanNote.fromAt, kind: loanNote.kind })
    .from(loanNote)
    .innerJoin(loan, eq(loan.id, loanNote.loanId))
    .where(and(eq(loan.reference, reference), inArray(loanNote.kind, ["washed-cover", "new-chair"])))
    .all();
  const benched = db
    .select({ at: benchSession.endedAt })
    .from(benchSession)
    .where(and(eq(benchSession.unitSerial, unit), isNotNull(benchSession.endedAt)))
    .orderBy(asc(benchSession.endedAt))
    .all();
  return [
    ...noted.map(({ at, kind }) => ({ at, kind: kind === "new-chair" ? "chair" : "wash" }) as const),
    ...benched.flatMap(({ at }) => (at === null ? [] : [{ at, kind: "bench" } as const])),
  ];
}
