import { hours, type Instant, millisecondsIn } from "../units.ts";
import type { StateRun } from "./charge-left.ts";
import type { GapContext } from "./gap-context.ts";

/** Fewer empty stretches than this are no habit. Assumption. */
const fewest = 6;

/** How long nobody had sat on the cushion when the record stopped, beside the longest time that it usually stood empty:
 *  the second longest of the days before, so that one odd day is no habit.
 *  @param runs the ledger before `at`, oldest first
 *  @returns null where some of that time was not seen, or too little came before */
export function emptyBefore(runs: readonly StateRun[], at: Instant): GapContext["emptyFor"] {
  const stretches: number[] = [];
  let since: Instant | null = null;
  let seen = false;
  for (const run of runs) {
    if (run.start >= at) break;
    if (run.state === "off" || run.state === "on-charge") since ??= run.start;
    else {
      if (since !== null && run.state === "seated" && seen) stretches.push(run.start - since);
      since = null;
      seen = run.state === "seated";
    }
  }
  const usual = [...stretches].sort((a, b) => b - a)[1];
  if (since === null || !seen || usual === undefined || stretches.length < fewest) return null;
  return { hours: asHours(at - since), usual: asHours(usual) };
}

const asHours = (lasted: number) => hours(lasted / millisecondsIn.hour);
