import type { RelayHeartbeat } from "../record/told-events.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";

/** When a boot began, by the unit's own count of seconds back from where its clock stood on some day. */
export interface CountedBack {
  readonly boot: number;
  readonly at: Instant;
  readonly bootedAt: Instant;
}

/** Came later than this: whether a receipt had set the unit's clock lately isn't known. Assumption: reports are hourly. */
const inTouch = 2 * millisecondsIn.hour;

/** @param heartbeats of one day, oldest first: of all that a unit tells, they come most evenly
 *  @returns the last for each boot */
export function clockDay(heartbeats: readonly RelayHeartbeat[]): CountedBack[] {
  const last = new Map<number, CountedBack>();
  for (const { boot, at, receivedAt, uptime } of heartbeats)
    if (uptime !== undefined && receivedAt - at <= inTouch)
      last.set(boot, { boot, at, bootedAt: instant(at - uptime * millisecondsIn.second) });
  return [...last.values()];
}
