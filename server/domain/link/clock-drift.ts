import { robustTrend } from "../statistics/robust-trend.ts";
import { type Instant, type Interval, millisecondsIn } from "../units.ts";
import type { CountedBack } from "./clock-day.ts";

/** How fast a unit counts seconds, against the server's. */
export interface ClockDrift {
  /** Positive: it runs fast. */
  readonly secondsPerDay: Interval;
  readonly since: Instant;
  readonly days: number;
}

const fewestDays = 7;
/** Seconds by which either end may lag: a unit sets its clock, and a boot is placed anew, only when two seconds out
 *  (`time/boot-anchor.ts`). */
const lag = 4;
const day = 24 * millisecondsIn.hour;

/** A unit's uptime counts its own seconds; its clock is kept at the server's by receipts (FP-6.2). So the beginning of a
 *  boot, counted back from the clock, moves by what the count gains or loses. The robust line's interval is widened by what
 *  either end may lag.
 *  @param points oldest first; the boot with most days in touch is taken
 *  @returns null where no boot was in touch on seven days */
export function clockDrift(points: readonly CountedBack[]): ClockDrift | null {
  const boots = new Map<number, CountedBack[]>();
  for (const point of points) boots.set(point.boot, [...(boots.get(point.boot) ?? []), point]);
  const longest = [...boots.values()].sort((a, b) => b.length - a.length)[0] ?? [];
  const [first, last] = [longest[0], longest.at(-1)];
  if (!first || !last || longest.length < fewestDays) return null;
  const moved = longest.map(({ at, bootedAt }) => ({
    x: (at - first.at) / day,
    y: (bootedAt - first.bootedAt) / millisecondsIn.second,
  }));
  const trend = robustTrend(moved, 0.9)?.slope;
  if (!trend) return null;
  const doubt = lag / ((last.at - first.at) / day);
  // Counted too fast, it seems to have begun earlier and earlier.
  const secondsPerDay = { low: -trend.high - doubt, best: -trend.best, high: -trend.low + doubt, level: 0.9 };
  return { secondsPerDay, since: first.at, days: longest.length };
}
