import { and, asc, count, desc, eq, isNull, like, ne, or, type SQL, sql } from "drizzle-orm";
import { type ConditionLevel, conditions } from "../domain/condition/condition.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Place } from "../domain/lifecycle/place.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { model, unit } from "./schema/equipment.ts";
import { unitAssessment } from "./schema/health.ts";
import { loan } from "./schema/loans.ts";

export type AssessmentRow = typeof unitAssessment.$inferSelect;

export const assessmentOf = (db: Database, serial: UnitSerial): AssessmentRow | null =>
  assessment(db).get({ serial }) ?? null;

const assessment = preparedOnce((db) =>
  db
    .select()
    .from(unitAssessment)
    .where(eq(unitAssessment.unitSerial, sql.placeholder("serial")))
    .prepare(),
);

export const saveAssessment = (db: Database, row: AssessmentRow): void =>
  void assessmentNow(db).run({ ...row });

const assessmentNow = preparedOnce((db) =>
  db
    .insert(unitAssessment)
    .values({
      unitSerial: sql.placeholder("unitSerial"),
      assessedAt: sql.placeholder("assessedAt"),
      level: sql.placeholder("level"),
      reason: sql.placeholder("reason"),
      nextStep: sql.placeholder("nextStep"),
      since: sql.placeholder("since"),
      capacityTold: sql.placeholder("capacityTold"),
      visibility: sql.placeholder("visibility"),
    })
    .onConflictDoUpdate({
      target: unitAssessment.unitSerial,
      set: {
        assessedAt: sql`excluded.assessed_at`,
        level: sql`excluded.level`,
        reason: sql`excluded.reason`,
        nextStep: sql`excluded.next_step`,
        since: sql`excluded.since`,
        capacityTold: sql`excluded.capacity_told`,
        visibility: sql`excluded.visibility`,
      },
    })
    .prepare(),
);

/** When any unit was last looked at; null: never. */
export const lastAssessedAt = (db: Database): Instant | null =>
  db
    .select({ at: unitAssessment.assessedAt })
    .from(unitAssessment)
    .orderBy(desc(unitAssessment.assessedAt))
    .limit(1)
    .get()?.at ?? null;

export const countAssessed = (db: Database): number =>
  db.select({ count: count() }).from(unitAssessment).get()?.count ?? 0;

/** Units that are not sound, wherever they are but gone for good; most harm first, then longest waiting. */
export const unitsNeedingHands = (db: Database, limit: number) =>
  db
    .select({ ...conditionLine, reason: unitAssessment.reason })
    .from(unitAssessment)
    .innerJoin(unit, eq(unit.serial, unitAssessment.unitSerial))
    .innerJoin(model, eq(model.id, unit.modelId))
    .where(and(ne(unitAssessment.level, "sound"), ne(unit.place, "retired")))
    .orderBy(
      sql`${rank} desc`,
      sql`${unit.place} = 'on-loan' desc`,
      asc(unitAssessment.since),
      asc(unit.serial),
    )
    .limit(limit)
    .all();

export interface BenchSearch {
  readonly level: ConditionLevel | "not-assessed" | null;
  readonly place: Place | null;
  /** Part of a serial, a lot or a model's name; empty: all. */
  readonly text: string;
  readonly limit: number;
  readonly offset: number;
}

/** Every unit with its condition, worst first; those nobody has looked at come last. */
export const unitsByCondition = (db: Database, search: BenchSearch) =>
  db
    .select(conditionLine)
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .leftJoin(unitAssessment, eq(unitAssessment.unitSerial, unit.serial))
    .where(matching(search))
    .orderBy(sql`coalesce(${rank}, -1) desc`, asc(unit.serial))
    .limit(search.limit)
    .offset(search.offset)
    .all();

export const countUnitsByCondition = (db: Database, search: BenchSearch): number =>
  db
    .select({ count: count() })
    .from(unit)
    .innerJoin(model, eq(model.id, unit.modelId))
    .leftJoin(unitAssessment, eq(unitAssessment.unitSerial, unit.serial))
    .where(matching(search))
    .get()?.count ?? 0;

/** A unit's loans without whom they were with: the bench works on cushions, not on people. Newest first. */
export const loanTimesOfUnit = (db: Database, serial: UnitSerial) =>
  db
    .select({
      reference: loan.reference,
      openedAt: loan.openedAt,
      startedAt: loan.startedAt,
      endedAt: loan.endedAt,
    })
    .from(loan)
    .where(eq(loan.unitSerial, serial))
    .orderBy(desc(loan.openedAt))
    .all();

const conditionLine = {
  serial: unit.serial,
  modelName: model.name,
  size: model.size,
  lotId: unit.lotId,
  place: unit.place,
  level: unitAssessment.level,
  nextStep: unitAssessment.nextStep,
  since: unitAssessment.since,
  assessedAt: unitAssessment.assessedAt,
};

/** Place in `conditions`: worst highest. */
const rank = sql`case ${unitAssessment.level} ${sql.join(
  conditions.map((level, index) => sql`when ${level} then ${index}`),
  sql` `,
)} end`;

const matching = (search: BenchSearch): SQL | undefined => {
  const text = search.text.trim();
  const pattern = `%${text}%`;
  return and(
    search.place === null ? undefined : eq(unit.place, search.place),
    search.level === null
      ? undefined
      : search.level === "not-assessed"
        ? isNull(unitAssessment.level)
        : eq(unitAssessment.level, search.level),
    text === ""
      ? undefined
      : or(like(unit.serial, pattern), like(unit.lotId, pattern), like(model.name, pattern)),
  );
};
