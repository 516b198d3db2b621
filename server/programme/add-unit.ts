import { type LotId, lotId, type ModelId, type UnitSerial, unitSerial } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { insertLot, lotById } from "../store/lots.ts";
import { modelById } from "../store/models.ts";
import { allRecalls, listUnitsInRecall, unitsMatchingUnlisted } from "../store/recalls.ts";
import { insertUnit, unitBySerial } from "../store/units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface AddUnitRequest {
  /** As printed on its label. */
  readonly serial: string;
  readonly model: ModelId;
  /** As printed by the maker; a lot not seen before is received now. */
  readonly lot: string;
  /** `in-stock`: accepted and checked. `on-the-bench`: its first check is still to come. */
  readonly place: "in-stock" | "on-the-bench";
}

export interface UnitAdded {
  readonly kind: "added";
  readonly unit: UnitSerial;
}

export type AddUnitRule = "serial-not-readable" | "serial-exists" | "unknown-model" | "lot-of-another-model";

/** A serial becomes the common name of a certificate and a level of a topic: letters, digits and hyphens only. */
const readableSerial = /^[A-Z0-9](?:[A-Z0-9-]{0,30}[A-Z0-9])?$/;

/** Books a unit in. A unit of a lot under recall joins that recall's list at once. */
export function addUnit(
  services: Services,
  actor: StaffActor,
  request: AddUnitRequest,
): UnitAdded | Refused<AddUnitRule> {
  const outcome = services.db.transaction((tx) => addUnitWithin(tx, services, actor, request), {
    behavior: "immediate",
  });
  if (outcome.kind === "added") services.live.changed("stores", "bench", `unit:${outcome.unit}`);
  return outcome;
}

function addUnitWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  request: AddUnitRequest,
): UnitAdded | Refused<AddUnitRule> {
  const now = services.clock.now();
  const serial = unitSerial(request.serial);
  const lot = lotId(request.lot);
  if (!readableSerial.test(serial))
    return refused("serial-not-readable", "A serial is capital letters, digits and hyphens, up to 32.");
  if (unitBySerial(db, serial) !== null)
    return refused("serial-exists", `${serial} has been added already. Nothing was done twice.`);
  if (modelById(db, request.model) === null) return refused("unknown-model", "There is no such model.");
  const known = lotById(db, lot);
  if (known !== null && known.modelId !== request.model)
    return refused("lot-of-another-model", `Lot ${lot} belongs to another model.`);

  if (known === null) insertLot(db, { id: lot, modelId: request.model, receivedAt: now });
  insertUnit(db, {
    serial,
    modelId: request.model,
    lotId: lot,
    place: request.place,
    placeSince: now,
    firmware: null,
    relay: null,
    hardware: null,
    lastHeardAt: null,
  });
  joinOpenRecalls(db, lot, services);
  appendAudit(db, {
    at: now,
    actor,
    action: "add-unit",
    subject: `unit:${serial}`,
    detail: { model: request.model, lot, place: request.place },
  });
  return { kind: "added", unit: serial };
}

function joinOpenRecalls(db: Database, lot: LotId, services: Services): void {
  for (const recall of allRecalls(db)) {
    if (recall.closedAt !== null || recall.criterion !== "lot" || recall.criterionValue !== lot) continue;
    listUnitsInRecall(db, recall.id, unitsMatchingUnlisted(db, recall.id), services.clock.now());
  }
}
