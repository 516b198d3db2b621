import { eq } from "drizzle-orm";
import { between, type Instant, type Milliseconds } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { throttle } from "./schema/staff.ts";

export interface Allowance {
  /** Attempts allowed in one window. */
  readonly limit: number;
  readonly window: Milliseconds;
}

/** Counts one attempt under `key` and says whether it may go ahead. Refused attempts don't lengthen the window, so
 *  that hammering can't lock the right person out for longer. */
export function takeAttempt(db: Database, key: string, now: Instant, allowance: Allowance): boolean {
  const row = db.select().from(throttle).where(eq(throttle.key, key)).get();
  if (!row || between(row.windowStart, now) >= allowance.window) {
    db.insert(throttle)
      .values({ key, windowStart: now, attempts: 1 })
      .onConflictDoUpdate({ target: throttle.key, set: { windowStart: now, attempts: 1 } })
      .run();
    return allowance.limit >= 1;
  }
  if (row.attempts >= allowance.limit) return false;
  db.update(throttle)
    .set({ attempts: row.attempts + 1 })
    .where(eq(throttle.key, key))
    .run();
  return true;
}

/** The right answer was given: earlier wrong ones no longer count. */
export function forgetAttempts(db: Database, key: string): void {
  db.delete(throttle).where(eq(throttle.key, key)).run();
}
