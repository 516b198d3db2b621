import { and, asc, desc, eq, gte, inArray, isNotNull, lte, sql } from "drizzle-orm";
import {
  type CommandKind,
  type CommandLine,
  openStates,
  type SelfTestFound,
} from "../domain/commands/command.ts";
import type { CommandStanding } from "../domain/commands/command-state.ts";
import type { CommandId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { type CommandBody, type RenewalAnswered, unitCommand } from "./schema/commands.ts";
import { staff } from "./schema/staff.ts";

export type UnitCommand = typeof unitCommand.$inferSelect;

export function insertCommand(db: Database, row: UnitCommand): void {
  db.insert(unitCommand).values(row).run();
}

export const commandOfUnit = (db: Database, unit: UnitSerial, id: CommandId): UnitCommand | null =>
  db
    .select()
    .from(unitCommand)
    .where(and(eq(unitCommand.id, id), eq(unitCommand.unitSerial, unit)))
    .get() ?? null;

/** What the unit is still to do, oldest first. Those past their time are among them until somebody looks. */
export const openCommandsOf = (db: Database, unit: UnitSerial): readonly UnitCommand[] =>
  db
    .select()
    .from(unitCommand)
    .where(and(eq(unitCommand.unitSerial, unit), inArray(unitCommand.state, [...openStates])))
    .orderBy(asc(unitCommand.issuedAt), asc(unitCommand.id))
    .all();

export const openCommandOf = (db: Database, unit: UnitSerial, kind: CommandKind): UnitCommand | null =>
  openCommandsOf(db, unit).find((command) => command.kind === kind) ?? null;

/** The newest of its kind that was asked from `since` on. */
export const lastCommandOf = (
  db: Database,
  unit: UnitSerial,
  kind: CommandKind,
  since: Instant,
): UnitCommand | null =>
  db
    .select()
    .from(unitCommand)
    .where(
      and(eq(unitCommand.unitSerial, unit), eq(unitCommand.kind, kind), gte(unitCommand.issuedAt, since)),
    )
    .orderBy(desc(unitCommand.issuedAt), desc(unitCommand.id))
    .limit(1)
    .get() ?? null;

/** Not answered to the end by `now`, though their time is up. */
export const commandsPastTheirTime = (db: Database, now: Instant): readonly UnitCommand[] =>
  db
    .select()
    .from(unitCommand)
    .where(and(sql`state in ('waiting', 'sent', 'accepted')`, lte(unitCommand.expiresAt, now)))
    .all();

/** Newest first. */
export const commandLinesOf = (db: Database, unit: UnitSerial, limit: number): readonly CommandLine[] =>
  db
    .select({
      id: unitCommand.id,
      kind: unitCommand.kind,
      state: unitCommand.state,
      issuedAt: unitCommand.issuedAt,
      issuedBy: staff.name,
      expiresAt: unitCommand.expiresAt,
      sentAt: unitCommand.sentAt,
      answeredAt: unitCommand.answeredAt,
      answer: unitCommand.answer,
      found: unitCommand.found,
    })
    .from(unitCommand)
    .leftJoin(staff, eq(staff.id, unitCommand.issuedBy))
    .where(eq(unitCommand.unitSerial, unit))
    .orderBy(desc(unitCommand.issuedAt), desc(unitCommand.id))
    .limit(limit)
    .all();

export function saveStanding(db: Database, id: CommandId, standing: CommandStanding): void {
  const { state, sentAt, answer, answeredAt } = standing;
  db.update(unitCommand).set({ state, sentAt, answer, answeredAt }).where(eq(unitCommand.id, id)).run();
}

export function saveFound(db: Database, id: CommandId, found: SelfTestFound): void {
  db.update(unitCommand).set({ found }).where(eq(unitCommand.id, id)).run();
}

export function saveBody(db: Database, id: CommandId, body: CommandBody): void {
  db.update(unitCommand).set({ body }).where(eq(unitCommand.id, id)).run();
}

export interface RenewalOnRecord {
  readonly id: CommandId;
  readonly body: CommandBody;
  readonly renewal: RenewalAnswered;
}

/** Renewals that were answered with a certificate, newest first. */
export const renewalsOf = (db: Database, unit: UnitSerial): readonly RenewalOnRecord[] =>
  db
    .select({ id: unitCommand.id, body: unitCommand.body })
    .from(unitCommand)
    .where(
      and(
        eq(unitCommand.unitSerial, unit),
        eq(unitCommand.kind, "renew-certificate"),
        isNotNull(sql`json_extract(${unitCommand.body}, '$.renewal')`),
      ),
    )
    .orderBy(desc(unitCommand.issuedAt), desc(unitCommand.id))
    .all()
    .flatMap(({ id, body }) => (body.renewal === undefined ? [] : [{ id, body, renewal: body.renewal }]));
