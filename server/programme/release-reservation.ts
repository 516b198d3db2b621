import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "../store/database.ts";
import { setUnitPlace, unitBySerial } from "../store/units.ts";

/** Puts the unit that a visit had reserved back in stock, unless it has gone elsewhere meanwhile. */
export function releaseReservation(db: Database, serial: UnitSerial | null, at: Instant): void {
  if (serial === null) return;
  if (unitBySerial(db, serial)?.place === "reserved") setUnitPlace(db, serial, "in-stock", at);
}
