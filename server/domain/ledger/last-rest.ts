import type { Instant } from "../units.ts";
import type { LedgerDay } from "./minute-state.ts";
import { timelineOf } from "./timeline.ts";

/** Start of the last time off the cushion of at least `rest` milliseconds that was over, as a rest, by the end of
 *  `days`. From there the relief clock can be worked out without knowing what came before.
 *  @param days consecutive, oldest first
 *  @returns null when these days hold none */
export function lastRestStart(days: readonly LedgerDay[], rest: number): Instant | null {
  let found: Instant | null = null;
  let start: Instant | null = null;
  for (const run of timelineOf(days)) {
    if (run.state !== "off" && run.state !== "on-charge") start = null;
    else {
      start ??= run.start;
      if (run.end - start >= rest) found = start;
    }
  }
  return found;
}
