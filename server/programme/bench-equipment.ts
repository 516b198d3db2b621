import { newId } from "../chance.ts";
import type { Calibration, EquipmentKind } from "../domain/bench/equipment.ts";
import { type EquipmentId, equipmentId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import {
  equipmentById,
  equipmentNamed,
  insertCalibration,
  insertEquipment,
  withdrawEquipment,
} from "../store/bench-equipment.ts";
import type { StaffActor } from "./staff-actor.ts";

export type EquipmentRule = "name-taken" | "unknown-equipment" | "days-reversed";

export interface EquipmentRegistered {
  readonly kind: "registered";
  readonly equipment: EquipmentId;
}

const reversed = refused("days-reversed", "The calibration is due on a day after the one it was done on.");

/** Registers a rig or a weight with its first calibration. */
export function registerEquipment(
  services: Services,
  actor: StaffActor,
  request: { readonly kind: EquipmentKind; readonly name: string; readonly calibration: Calibration },
): EquipmentRegistered | Refused<EquipmentRule> {
  const { kind, name, calibration } = request;
  if (calibration.dueOn <= calibration.calibratedOn) return reversed;
  const outcome = services.db.transaction(
    (tx) => {
      if (equipmentNamed(tx, name)) return refused("name-taken", `There is already one called ${name}.`);
      const at = services.clock.now();
      const id = equipmentId(newId(services.chance, "rig"));
      insertEquipment(tx, { id, kind, name, at });
      insertCalibration(tx, id, calibration, { id: actor.id, at });
      appendAudit(tx, {
        at,
        actor,
        action: "register-bench-equipment",
        subject: `bench-equipment:${id}`,
        detail: { kind, name, certificate: calibration.certificateReference, dueOn: calibration.dueOn },
      });
      return { kind: "registered", equipment: id } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "registered") services.live.changed("bench");
  return outcome;
}

/** Writes down a new calibration; those before stay, for the certificates that name them. */
export function renewCalibration(
  services: Services,
  actor: StaffActor,
  request: { readonly equipment: EquipmentId; readonly calibration: Calibration },
): { readonly kind: "renewed" } | Refused<EquipmentRule> {
  const { equipment, calibration } = request;
  if (calibration.dueOn <= calibration.calibratedOn) return reversed;
  return changing(services, actor, equipment, (tx, at) => {
    insertCalibration(tx, equipment, calibration, { id: actor.id, at });
    return {
      action: "renew-calibration",
      detail: { certificate: calibration.certificateReference, dueOn: calibration.dueOn },
    };
  });
}

/** Takes it out of use: lost, damaged or given away. */
export const withdrawFromUse = (
  services: Services,
  actor: StaffActor,
  equipment: EquipmentId,
): { readonly kind: "renewed" } | Refused<EquipmentRule> =>
  changing(services, actor, equipment, (tx, at) => {
    withdrawEquipment(tx, equipment, at);
    return { action: "withdraw-bench-equipment", detail: {} };
  });

function changing(
  services: Services,
  actor: StaffActor,
  equipment: EquipmentId,
  change: (
    tx: Services["db"],
    at: ReturnType<Services["clock"]["now"]>,
  ) => { readonly action: string; readonly detail: Readonly<Record<string, unknown>> },
): { readonly kind: "renewed" } | Refused<EquipmentRule> {
  const outcome = services.db.transaction(
    (tx) => {
      if (equipmentById(tx, equipment) === null)
        return refused("unknown-equipment", "There is no such rig or weight in use.");
      const at = services.clock.now();
      const { action, detail } = change(tx, at);
      appendAudit(tx, { at, actor, action, subject: `bench-equipment:${equipment}`, detail });
      return { kind: "renewed" } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "renewed") services.live.changed("bench");
  return outcome;
}
