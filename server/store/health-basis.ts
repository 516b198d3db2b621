import { and, asc, desc, eq, inArray, isNotNull, sql } from "drizzle-orm";
import type { BaselineChange } from "../domain/condition/baseline-change.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { benchSession } from "./schema/bench.ts";
import { loan, loanNote } from "./schema/loans.ts";

export interface Lending {
  readonly reference: string;
  readonly startedAt: Instant;
}

/** The loan under which this unit was last set up with somebody; null: it never was. */
export function lastLendingOf(db: Database, unit: UnitSerial): Lending | null {
  const row = lastLending(db).get({ unit });
  return row?.startedAt ? { reference: row.reference, startedAt: row.startedAt } : null;
}

const lastLending = preparedOnce((db) =>
  db
    .select({ reference: loan.reference, startedAt: loan.startedAt })
    .from(loan)
    .where(and(eq(loan.unitSerial, sql.placeholder("unit")), isNotNull(loan.startedAt)))
    .orderBy(desc(loan.openedAt))
    .limit(1)
    .prepare(),
);

/** What happened to the unit, by the notes of a loan and by the bench, that changes how it reads. */
export function baselineChanges(
  db: Database,
  unit: UnitSerial,
  reference: string,
): readonly BaselineChange[] {
  const noted = changesNoted(db).all({ reference });
  const benched = sessionsEnded(db).all({ unit });
  return [
    ...noted.map(({ at, kind }) => ({ at, kind: kind === "new-chair" ? "chair" : "wash" }) as const),
    ...benched.flatMap(({ at }) => (at === null ? [] : [{ at, kind: "bench" } as const])),
  ];
}

const changesNoted = preparedOnce((db) =>
  db
    .select({ at: loanNote.fromAt, kind: loanNote.kind })
    .from(loanNote)
    .innerJoin(loan, eq(loan.id, loanNote.loanId))
    .where(
      and(
        eq(loan.reference, sql.placeholder("reference")),
        inArray(loanNote.kind, ["washed-cover", "new-chair"]),
      ),
    )
    .prepare(),
);

const sessionsEnded = preparedOnce((db) =>
  db
    .select({ at: benchSession.endedAt })
    .from(benchSession)
    .where(and(eq(benchSession.unitSerial, sql.placeholder("unit")), isNotNull(benchSession.endedAt)))
    .orderBy(asc(benchSession.endedAt))
    .prepare(),
);
