import { and, desc, eq, gte, inArray, isNotNull, isNull, or, sql } from "drizzle-orm";
import type { FoundNow } from "../domain/condition/findings/found-now.ts";
import type { FindingId, StaffId, UnitSerial } from "../domain/ids.ts";
import { type Instant, type Probability, probability } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { finding } from "./schema/health.ts";
import { staff } from "./schema/staff.ts";

const partsPerMillion = 1_000_000;
const asParts = (p: Probability): number => Math.round(p * partsPerMillion);

const findingsWhere = (db: Database, condition: ReturnType<typeof and>) =>
  db
    .select({
      id: finding.id,
      unit: finding.unitSerial,
      kind: finding.kind,
      where: finding.place,
      level: finding.level,
      parts: finding.probability,
      sentence: finding.sentence,
      mistakenFor: finding.mistakenFor,
      settledBy: finding.settledBy,
      since: finding.since,
      lastSeenAt: finding.lastSeenAt,
      clearedAt: finding.clearedAt,
      judgement: finding.judgement,
      judgedAt: finding.judgedAt,
      judgedBy: staff.name,
    })
    .from(finding)
    .leftJoin(staff, eq(staff.id, finding.judgedBy))
    .where(condition);

/** A finding as kept: with what a technician said of it, and who. */
export type FindingRow = Omit<ReturnType<ReturnType<typeof findingsWhere>["all"]>[number], "parts"> & {
  readonly probability: Probability;
};

const withProbability = ({
  parts,
  ...row
}: ReturnType<ReturnType<typeof findingsWhere>["all"]>[number]): FindingRow => ({
  ...row,
  probability: probability(parts / partsPerMillion),
});

/** Not cleared, refuted or not. */
export const openFindingsOf = (db: Database, unit: UnitSerial): readonly FindingRow[] =>
  openFindings(db).all({ unit }).map(withProbability);

const openFindings = preparedOnce((db) =>
  findingsWhere(db, and(eq(finding.unitSerial, sql.placeholder("unit")), isNull(finding.clearedAt)))
    .orderBy(finding.since)
    .prepare(),
);

/** Open findings of one kind, of whichever unit. */
export const openOfKind = (db: Database, kind: FoundNow["kind"]): readonly FindingRow[] =>
  findingsWhere(db, and(eq(finding.kind, kind), isNull(finding.clearedAt)))
    .all()
    .map(withProbability);

/** Open findings of several units in one question. */
export const openFindingsOfUnits = (db: Database, units: readonly UnitSerial[]): readonly FindingRow[] =>
  units.length === 0
    ? []
    : findingsWhere(db, and(inArray(finding.unitSerial, [...units]), isNull(finding.clearedAt)))
        .all()
        .map(withProbability);

/** Whether one of this kind was found that nobody refuted and that began no earlier. */
export const hadFindingSince = (
  db: Database,
  unit: UnitSerial,
  kind: FoundNow["kind"],
  since: Instant,
): boolean =>
  findingsWhere(
    db,
    and(
      eq(finding.unitSerial, unit),
      eq(finding.kind, kind),
      gte(finding.since, since),
      or(isNull(finding.judgement), eq(finding.judgement, "confirmed")),
    ),
  )
    .limit(1)
    .all().length > 0;

/** Cleared ones, newest first. */
export const pastFindingsOf = (db: Database, unit: UnitSerial, limit: number): readonly FindingRow[] =>
  findingsWhere(db, and(eq(finding.unitSerial, unit), isNotNull(finding.clearedAt)))
    .orderBy(desc(finding.clearedAt))
    .limit(limit)
    .all()
    .map(withProbability);

export function findingById(db: Database, id: FindingId): FindingRow | null {
  const row = findingsWhere(db, and(eq(finding.id, id))).get();
  return row ? withProbability(row) : null;
}

export function raiseFinding(
  db: Database,
  raised: {
    readonly id: FindingId;
    readonly unit: UnitSerial;
    readonly found: FoundNow;
    readonly at: Instant;
  },
): void {
  const { where, probability: p, ...rest } = raised.found;
  db.insert(finding)
    .values({
      ...rest,
      id: raised.id,
      unitSerial: raised.unit,
      place: where,
      probability: asParts(p),
      raisedAt: raised.at,
      lastSeenAt: raised.at,
    })
    .run();
}

/** What is still there, as it looks now. Its start stays the earliest known, and what was said of it stays. */
export function refreshFinding(
  db: Database,
  id: FindingId,
  found: FoundNow,
  since: Instant,
  at: Instant,
): void {
  const { level, sentence, mistakenFor, settledBy } = found;
  db.update(finding)
    .set({
      level,
      sentence,
      mistakenFor,
      settledBy,
      since,
      probability: asParts(found.probability),
      lastSeenAt: at,
    })
    .where(eq(finding.id, id))
    .run();
}

export function clearFinding(db: Database, id: FindingId, at: Instant): void {
  db.update(finding).set({ clearedAt: at }).where(eq(finding.id, id)).run();
}

export function saveJudgement(
  db: Database,
  id: FindingId,
  judged: { readonly judgement: "confirmed" | "refuted" | null; readonly by: StaffId; readonly at: Instant },
): void {
  db.update(finding)
    .set({ judgement: judged.judgement, judgedBy: judged.by, judgedAt: judged.at })
    .where(eq(finding.id, id))
    .run();
}
