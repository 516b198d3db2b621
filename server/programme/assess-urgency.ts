import { isHazardous } from "../domain/condition/hazards.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { after, instant, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";

/** What happened longer ago and comes only now can wait the few minutes that it takes. */
const lately = 24 * millisecondsIn.hour;

/** Whether what came in of this unit since its last review tells of something that may do harm now. Reads the news only. */
export async function isUrgent({ telemetry, clock }: Services, unit: UnitSerial): Promise<boolean> {
  const news = await telemetry.unreviewedOf(unit);
  if (news === null) return false;
  const now = clock.now();
  const start = instant(Math.max(news.earliest ?? 0, now - lately));
  const end = after(now, milliseconds(millisecondsIn.minute));
  const { faults, powerEvents } = await telemetry.read(unit, { start, end });
  return faults.some(({ code }) => isHazardous(code)) || powerEvents.some(({ event }) => isHazardous(event));
}
