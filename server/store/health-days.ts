import { and, desc, eq, gt, lt, sql } from "drizzle-orm";
import type { HealthDay } from "../domain/condition/health-day.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { dayBytes, dayOf, keptVersion } from "./health-day-bytes.ts";
import { healthDay } from "./schema/health-days.ts";

export interface KeptHealthDay {
  readonly basis: string;
  readonly told: HealthDay;
}

/** A kept day, opened only when asked for: whether it still holds shows without. */
export interface KeptDayRow {
  readonly basis: string;
  readonly span: Span;
  readonly told: () => HealthDay;
}

/** The newest days kept of a unit, oldest first; those told another way than today's are left out, and all after them. */
export function keptHealthDays(db: Database, unit: UnitSerial, most: number): readonly KeptDayRow[] {
  const rows = newestDays(db).all({ unit, most }).reverse();
  const stale = rows.findIndex(({ version }) => version !== keptVersion);
  return (stale === -1 ? rows : rows.slice(0, stale)).map(({ basis, start, end, told }) => ({
    basis,
    span: { start, end },
    told: () => dayOf(told),
  }));
}

const newestDays = preparedOnce((db) =>
  db
    .select()
    .from(healthDay)
    .where(eq(healthDay.unitSerial, sql.placeholder("unit")))
    .orderBy(desc(healthDay.start))
    .limit(sql.placeholder("most"))
    .prepare(),
);

export function keepHealthDay(db: Database, unit: UnitSerial, { basis, told }: KeptHealthDay): void {
  const { start, end } = told.span;
  keptDay(db).run({ unit, start, end, basis, version: keptVersion, told: dayBytes(told) });
}

const keptDay = preparedOnce((db) =>
  db
    .insert(healthDay)
    .values({
      unitSerial: sql.placeholder("unit"),
      start: sql.placeholder("start"),
      end: sql.placeholder("end"),
      basis: sql.placeholder("basis"),
      version: sql.placeholder("version"),
      told: sql.placeholder("told"),
    })
    .onConflictDoUpdate({
      target: [healthDay.unitSerial, healthDay.start],
      set: {
        end: sql`excluded.end`,
        basis: sql`excluded.basis`,
        version: sql`excluded.version`,
        told: sql`excluded.told`,
      },
    })
    .prepare(),
);

/** Days that end after `from` are no longer what the record says. @param from null: none is */
export function forgetHealthDays(db: Database, unit: UnitSerial, from: Instant | null): void {
  daysSince(db).run({ unit, from: from ?? Number.MIN_SAFE_INTEGER });
}

const daysSince = preparedOnce((db) =>
  db
    .delete(healthDay)
    .where(and(eq(healthDay.unitSerial, sql.placeholder("unit")), gt(healthDay.end, sql.placeholder("from"))))
    .prepare(),
);

/** Days nothing is worked out from any more. */
export function dropHealthDaysBefore(db: Database, unit: UnitSerial, start: Instant): void {
  oldDays(db).run({ unit, start });
}

const oldDays = preparedOnce((db) =>
  db
    .delete(healthDay)
    .where(
      and(eq(healthDay.unitSerial, sql.placeholder("unit")), lt(healthDay.start, sql.placeholder("start"))),
    )
    .prepare(),
);
