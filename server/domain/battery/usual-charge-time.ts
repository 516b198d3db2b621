import { localTimeOf, type ZoneName } from "../time/local-day.ts";
import type { ChargeSession } from "./charge-history.ts";

/** The time of day at which charging usually begins. */
export interface UsualChargeTime {
  /** Local minutes since midnight. */
  readonly minute: number;
  /** Minutes to either side, within which about two in three begin. */
  readonly spread: number;
}

const fewest = 4;
const dayMinutes = 24 * 60;
/** Begun at all hours: an average time would be nobody's habit. Assumption. */
const widest = 4 * 60;

/** Mean direction on the circle of the day, and the circular standard deviation √(−2 ln R̄).
 *  Source: Mardia and Jupp 2000, Directional Statistics, 2.2 and 2.3
 *  @returns null of too few, or where they begin at all hours */
export function usualChargeTime(sessions: readonly ChargeSession[], zone: ZoneName): UsualChargeTime | null {
  if (sessions.length < fewest) return null;
  let across = 0;
  let along = 0;
  for (const { start } of sessions) {
    const { hour, minute } = localTimeOf(start, zone);
    const angle = (2 * Math.PI * (60 * hour + minute)) / dayMinutes;
    across += Math.sin(angle);
    along += Math.cos(angle);
  }
  const length = Math.hypot(across, along) / sessions.length;
  const spread = (Math.sqrt(-2 * Math.log(Math.min(1, Math.max(1e-9, length)))) * dayMinutes) / (2 * Math.PI);
  if (spread > widest) return null;
  const minute = (Math.atan2(across, along) / (2 * Math.PI)) * dayMinutes;
  return { minute: Math.round((minute + dayMinutes) % dayMinutes) % dayMinutes, spread: Math.round(spread) };
}
