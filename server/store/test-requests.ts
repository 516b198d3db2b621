import { and, asc, eq, gte, isNotNull, isNull, lt, or, sql } from "drizzle-orm";
import type { StretchId, TestRequestId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { testRequest } from "./schema/learning.ts";
import { borrower, loan } from "./schema/loans.ts";
import { staff } from "./schema/staff.ts";
import { stretch, verdict } from "./schema/verdicts.ts";

export type TestRequestRow = typeof testRequest.$inferSelect;

export const testRequestsOf = (db: Database, id: StretchId) => requestsOf(db).all({ stretch: id });

const requestsOf = preparedOnce((db) =>
  db
    .select({ request: testRequest, askedByName: staff.name })
    .from(testRequest)
    .innerJoin(staff, eq(staff.id, testRequest.askedBy))
    .where(eq(testRequest.stretchId, sql.placeholder("stretch")))
    .orderBy(asc(testRequest.askedAt))
    .prepare(),
);

/** Tests done to settle a stretch, with what each showed. */
export const testsDoneOn = (db: Database, id: StretchId) =>
  testRequestsOf(db, id).flatMap(({ request: { test, result, doneAt } }) =>
    result === null || doneAt === null ? [] : [{ test, result, at: doneAt }],
  );

/** What the bench showed of stretches it was asked about, each with the verdict that was held until then. */
export const benchResultsOnVerdicts = (db: Database) =>
  db
    .select({ held: verdict.outcome, result: testRequest.result })
    .from(testRequest)
    .innerJoin(
      verdict,
      and(
        eq(verdict.stretchId, testRequest.stretchId),
        lt(verdict.computedAt, testRequest.doneAt),
        or(isNull(verdict.supersededAt), gte(verdict.supersededAt, testRequest.doneAt)),
      ),
    )
    .where(and(eq(testRequest.desk, "bench"), eq(testRequest.test, "bench"), isNotNull(testRequest.result)))
    .all();

/** What a desk has been asked to do, longest waiting first. */
export const openTestRequests = (db: Database, desk: TestRequestRow["desk"]) =>
  db
    .select({
      id: testRequest.id,
      test: testRequest.test,
      askedAt: testRequest.askedAt,
      kind: stretch.kind,
      startsAt: stretch.startsAt,
      unitSerial: loan.unitSerial,
      loanId: loan.id,
      reference: loan.reference,
      borrowerName: borrower.name,
    })
    .from(testRequest)
    .innerJoin(stretch, eq(stretch.id, testRequest.stretchId))
    .innerJoin(loan, eq(loan.id, stretch.loanId))
    .innerJoin(borrower, eq(borrower.id, loan.borrowerId))
    .where(and(eq(testRequest.desk, desk), isNull(testRequest.doneAt), isNull(testRequest.calledOffAt)))
    .orderBy(asc(testRequest.askedAt))
    .all();

export const testRequestById = (db: Database, id: TestRequestId): TestRequestRow | null =>
  db.select().from(testRequest).where(eq(testRequest.id, id)).get() ?? null;

export function insertTestRequest(db: Database, row: TestRequestRow): void {
  db.insert(testRequest).values(row).run();
}

export function saveTestResult(
  db: Database,
  id: TestRequestId,
  done: { readonly result: string; readonly doneBy: TestRequestRow["askedBy"]; readonly doneAt: Instant },
): void {
  db.update(testRequest).set(done).where(eq(testRequest.id, id)).run();
}
