import { sql } from "drizzle-orm";
import type { Database } from "./database.ts";
import { benchSession } from "./schema/bench.ts";
import { loan } from "./schema/loans.ts";
import { recall } from "./schema/recalls.ts";

/** `L-0001`, `L-0002`, ... Call it inside the transaction that stores the row, so that a number is used once. */
export const nextLoanReference = (db: Database): string =>
  `L-${padded(highest(db, sql`select max(cast(substr(reference, 3) as integer)) as highest from ${loan}`) + 1)}`;

/** `R-0001`, ... */
export const nextRecallReference = (db: Database): string =>
  `R-${padded(highest(db, sql`select max(cast(substr(reference, 3) as integer)) as highest from ${recall}`) + 1)}`;

/** `B-0001`, ... */
export const nextBenchReference = (db: Database): string =>
  `B-${padded(highest(db, sql`select max(cast(substr(reference, 3) as integer)) as highest from ${benchSession}`) + 1)}`;

const padded = (number: number): string => String(number).padStart(4, "0");

function highest(db: Database, query: ReturnType<typeof sql>): number {
  return db.get<{ highest: number | null }>(query)?.highest ?? 0;
}
