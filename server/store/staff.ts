import { asc, eq } from "drizzle-orm";
import type { Role } from "../domain/access/roles.ts";
import type { StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { staff } from "./schema/staff.ts";

export interface StaffMember {
  readonly id: StaffId;
  readonly login: string;
  readonly name: string;
  readonly role: Role;
  readonly createdAt: Instant;
  readonly disabledAt: Instant | null;
  /** False until the invitation is taken up. */
  readonly hasPassword: boolean;
}

export interface StaffCredentials extends StaffMember {
  readonly passwordHash: string | null;
}

type Row = typeof staff.$inferSelect;

const memberOf = ({ passwordHash, ...row }: Row): StaffMember => ({
  ...row,
  hasPassword: passwordHash !== null,
});

/** Logins are compared without regard to case or the spaces around them. */
export const loginForm = (typed: string): string => typed.trim().toLowerCase();

export const allStaff = (db: Database): readonly StaffMember[] =>
  db.select().from(staff).orderBy(asc(staff.name)).all().map(memberOf);

export function staffById(db: Database, id: StaffId): StaffMember | null {
  const row = db.select().from(staff).where(eq(staff.id, id)).get();
  return row ? memberOf(row) : null;
}

export function credentialsOf(db: Database, id: StaffId): StaffCredentials | null {
  const row = db.select().from(staff).where(eq(staff.id, id)).get();
  return row ? { ...memberOf(row), passwordHash: row.passwordHash } : null;
}

export function credentialsByLogin(db: Database, login: string): StaffCredentials | null {
  const row = db
    .select()
    .from(staff)
    .where(eq(staff.login, loginForm(login)))
    .get();
  return row ? { ...memberOf(row), passwordHash: row.passwordHash } : null;
}

export const activeAdministrators = (db: Database): readonly StaffMember[] =>
  allStaff(db).filter(
    (member) => member.role === "administrator" && member.disabledAt === null && member.hasPassword,
  );

export function addStaff(
  db: Database,
  member: { id: StaffId; login: string; name: string; role: Role; createdAt: Instant },
): void {
  db.insert(staff)
    .values({ ...member, login: loginForm(member.login) })
    .run();
}

export function setPasswordHash(db: Database, id: StaffId, passwordHash: string): void {
  db.update(staff).set({ passwordHash }).where(eq(staff.id, id)).run();
}

export function setDisabled(db: Database, id: StaffId, disabledAt: Instant | null): void {
  db.update(staff).set({ disabledAt }).where(eq(staff.id, id)).run();
}
