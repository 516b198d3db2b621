import type { RecordedMinute } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";

/** One time something lay or somebody sat on the cushion, as the minutes told it. */
export interface SitSummary {
  readonly start: Instant;
  readonly end: Instant;
  /** Kilograms, the middle minute. */
  readonly load: number;
  /** Per cent of the half width or depth. */
  readonly right: number;
  readonly front: number;
  /** How much the load moved from minute to minute, kilograms: the median step. */
  readonly stir: number;
}

/** Shorter ones are transfers, reaching and testing. Assumption. */
const shortestSit = 10 * millisecondsIn.minute;
/** A minute or two off in between is the same sit. */
const breakFrom = 3 * millisecondsIn.minute;

/** @param minutes oldest first */
export function sitSummaries(minutes: readonly RecordedMinute[]): SitSummary[] {
  const runs: RecordedMinute[][] = [];
  for (const minute of minutes) {
    if (minute.seat !== "loaded") continue;
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run && last && minute.at - last.at < breakFrom) run.push(minute);
    else runs.push([minute]);
  }
  return runs.flatMap((run) => {
    const [first] = run;
    const last = run.at(-1);
    if (!first || !last || last.at + millisecondsIn.minute - first.at < shortestSit) return [];
    const steps = run.slice(1).map(({ load }, index) => Math.abs(load - (run[index]?.load ?? load)));
    return [
      {
        start: first.at,
        end: instant(last.at + millisecondsIn.minute),
        load: median(run.map(({ load }) => load)) ?? 0,
        right: median(run.map(({ centreRight }) => centreRight)) ?? 0,
        front: median(run.map(({ centreFront }) => centreFront)) ?? 0,
        stir: median(steps) ?? 0,
      },
    ];
  });
}
