import type { HealthDay } from "../condition/health-day.ts";
import type { Instant } from "../units.ts";

export interface FirmwareChange {
  readonly from: string;
  readonly to: string;
  /** Start of the day it came: that day is of neither time. */
  readonly day: Instant;
}

/** The last change of firmware in these days. @param days oldest first */
export function lastFirmwareChange(days: readonly HealthDay[]): FirmwareChange | null {
  const at = changeIndex(days);
  const [before, day] = [days[at - 1], days[at]];
  if (!before?.firmware || !day?.firmware) return null;
  return { from: before.firmware, to: day.firmware, day: day.span.start };
}

/** @returns -1: it didn't change */
export const changeIndex = (days: readonly HealthDay[]): number =>
  days.findLastIndex(({ firmware }, index) => {
    const before = days[index - 1]?.firmware ?? null;
    return before !== null && firmware !== null && firmware !== before;
  });
