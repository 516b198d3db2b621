import { asc, eq, isNull } from "drizzle-orm";
import type { Calibration, EquipmentKind } from "../domain/bench/equipment.ts";
import type { EquipmentId, StaffId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { benchCalibration, benchEquipment } from "./schema/bench.ts";

export interface EquipmentItem {
  readonly id: EquipmentId;
  readonly kind: EquipmentKind;
  readonly name: string;
  readonly withdrawnAt: Instant | null;
  /** The newest one written down; null: none yet. */
  readonly calibration: Calibration | null;
}

/** Those still in use. */
export function equipmentInUse(db: Database): readonly EquipmentItem[] {
  const rows = db
    .select()
    .from(benchEquipment)
    .where(isNull(benchEquipment.withdrawnAt))
    .orderBy(asc(benchEquipment.kind), asc(benchEquipment.name))
    .all();
  const newest = new Map(
    db
      .select()
      .from(benchCalibration)
      .orderBy(asc(benchCalibration.id))
      .all()
      .map((row) => [row.equipmentId, row]),
  );
  return rows.map((row) => ({ ...row, calibration: newest.get(row.id) ?? null }));
}

export const equipmentById = (db: Database, id: EquipmentId): EquipmentItem | null =>
  equipmentInUse(db).find((item) => item.id === id) ?? null;

export const equipmentNamed = (db: Database, name: string): boolean =>
  db.select({ id: benchEquipment.id }).from(benchEquipment).where(eq(benchEquipment.name, name)).get() !==
  undefined;

export function insertEquipment(
  db: Database,
  item: {
    readonly id: EquipmentId;
    readonly kind: EquipmentKind;
    readonly name: string;
    readonly at: Instant;
  },
): void {
  const { at, ...row } = item;
  db.insert(benchEquipment)
    .values({ ...row, registeredAt: at })
    .run();
}

export function insertCalibration(
  db: Database,
  of: EquipmentId,
  calibration: Calibration,
  by: { readonly id: StaffId; readonly at: Instant },
): void {
  db.insert(benchCalibration)
    .values({ ...calibration, equipmentId: of, writtenAt: by.at, writtenBy: by.id })
    .run();
}

export function withdrawEquipment(db: Database, id: EquipmentId, at: Instant): void {
  db.update(benchEquipment).set({ withdrawnAt: at }).where(eq(benchEquipment.id, id)).run();
}
