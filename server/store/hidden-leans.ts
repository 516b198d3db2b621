import { and, desc, eq, lt, sql } from "drizzle-orm";
import type { LeanDirection } from "../domain/condition/condition.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { hiddenLeans } from "../domain/sensor-grid/hidden-leans.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { hiddenLeansHeld } from "./schema/held.ts";
import { lastAssessed } from "./stretch-clues.ts";

/** Which leans the unit is held to hide, now or as known at `knownBy`. */
export function hiddenLeansOf(
  db: Database,
  unit: UnitSerial,
  knownBy: Instant | null,
): readonly LeanDirection[] {
  const held = knownBy === null ? null : lastHeld(db, unit, knownBy);
  if (held !== null) return held;
  // Kept since then, but later than asked: nothing was known to be hidden.
  if (knownBy !== null && lastHeld(db, unit, null) !== null) return [];
  return hiddenLeans(lastAssessed(db, unit)?.visibility ?? null);
}

/** Notes that the unit hides other leans from now on; the same again is nothing new. */
export function noteHiddenLeans(
  db: Database,
  unit: UnitSerial,
  directions: readonly LeanDirection[],
  since: Instant,
): void {
  const before = lastHeld(db, unit, null);
  if (before !== null && before.join() === directions.join()) return;
  db.insert(hiddenLeansHeld)
    .values({ unitSerial: unit, since, directions })
    .onConflictDoUpdate({ target: [hiddenLeansHeld.unitSerial, hiddenLeansHeld.since], set: { directions } })
    .run();
}

const lastHeld = (db: Database, unit: UnitSerial, before: Instant | null): readonly LeanDirection[] | null =>
  newestHeld(db).get({ unit, before: before ?? Number.MAX_SAFE_INTEGER })?.directions ?? null;

const newestHeld = preparedOnce((db) =>
  db
    .select({ directions: hiddenLeansHeld.directions })
    .from(hiddenLeansHeld)
    .where(
      and(
        eq(hiddenLeansHeld.unitSerial, sql.placeholder("unit")),
        lt(hiddenLeansHeld.since, sql.placeholder("before")),
      ),
    )
    .orderBy(desc(hiddenLeansHeld.since))
    .limit(1)
    .prepare(),
);
