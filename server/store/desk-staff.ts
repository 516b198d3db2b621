import { and, asc, eq, inArray, isNull } from "drizzle-orm";
import type { Role } from "../domain/access/roles.ts";
import type { StaffId } from "../domain/ids.ts";
import type { Database } from "./database.ts";
import { staff } from "./schema/staff.ts";

export interface DeskStaff {
  readonly id: StaffId;
  readonly name: string;
  readonly role: Role;
}

/** Those who can be given work now: people whose account is closed aren't offered. */
export const staffWorkingAs = (db: Database, roles: readonly Role[]): readonly DeskStaff[] =>
  db
    .select({ id: staff.id, name: staff.name, role: staff.role })
    .from(staff)
    .where(and(inArray(staff.role, [...roles]), isNull(staff.disabledAt)))
    .orderBy(asc(staff.name), asc(staff.id))
    .all();

export const staffNamed = (db: Database, id: StaffId): DeskStaff | null =>
  db.select({ id: staff.id, name: staff.name, role: staff.role }).from(staff).where(eq(staff.id, id)).get() ??
  null;
