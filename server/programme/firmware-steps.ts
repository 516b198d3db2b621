import {
  type AroundFirmware,
  aroundFirmware,
  type FirmwareMeasure,
} from "../domain/firmware/around-firmware.ts";
import { type FirmwareSteps, firmwareSteps } from "../domain/firmware/firmware-steps.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { keptHealthDays } from "../store/health-days.ts";
import { unitsHeardLastWith } from "../store/units.ts";

/** So many units tell as well as all of them would, and a page must not wait for ten thousand. */
const mostUnits = 60;
const mostLookedAt = 400;
/** A fortnight on each side of a change up to two weeks ago, and the day itself. */
const daysRead = 30;

/** What moved as units went over to this firmware, by the days kept of them. */
export async function firmwareStepsOf(
  services: Services,
  firmware: string,
  measures: readonly FirmwareMeasure[],
): Promise<FirmwareSteps> {
  const units: AroundFirmware[] = [];
  for (const unit of unitsHeardLastWith(services.db, firmware, mostLookedAt)) {
    if (units.length === mostUnits) break;
    const around = await aroundOf(services, unit);
    if (around?.to === firmware) units.push(around);
  }
  return firmwareSteps(units, measures);
}

async function aroundOf({ db, telemetry }: Services, unit: UnitSerial): Promise<AroundFirmware | null> {
  const rows = keptHealthDays(db, unit, daysRead);
  const [oldest, newest] = [rows[0], rows.at(-1)];
  // Most have had it for long: the two ends tell, and nothing in between is opened.
  if (!oldest || !newest || oldest.told().firmware === newest.told().firmware) return null;
  const over = { start: oldest.span.start, end: instant(newest.span.end) };
  return aroundFirmware(
    rows.map(({ told }) => told()),
    await telemetry.holes(unit, over),
  );
}
