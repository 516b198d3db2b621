import type { RecordedBoot, ResetReason, SequenceHole } from "../record/unit-record.ts";
import { type Instant, type Interval, millisecondsIn, millivolts, type Span } from "../units.ts";
import { chargeDeviation, stateOfCharge } from "./open-circuit-voltage.ts";
import type { PowerRun } from "./power-runs.ts";

/** A time in which the unit was switched off and nobody charged it. */
export interface TimeOff extends Span {
  /** Share of charge by the rested voltage before it was switched off and after it came on. */
  readonly from: number;
  readonly to: number;
}

/** What a switched-off unit loses: the cell by itself, and what of the electronics stays awake. */
export interface SelfDischarge {
  readonly times: readonly TimeOff[];
  /** Share of a full charge in 30 days. */
  readonly perMonth: Interval;
  /** One standard deviation of `perMonth`, same unit. */
  readonly deviation: number;
}

/** Shorter and the doubt of two readings is all there is to see. Assumption. */
const shortest = 3 * 24 * millisecondsIn.hour;
/** Off the charger this long, a cell reads as it rests (assumption). */
const rested = 2 * millisecondsIn.hour;
/** Back on for this long, what it had still to tell from before has come (assumption): until then the last word on record
 *  may be older than the moment it was switched off. */
const toldAll = 6 * millisecondsIn.hour;
const month = 30 * 24 * millisecondsIn.hour;
/** mV, one standard deviation of a rested reading against another of the same unit: steps of the converter, a cell some
 *  degrees warmer. What the converter is off by is in both. Assumption. */
const readingDoubt = 3;
/** How much steeper or flatter the curve of another make may be, one standard deviation. Assumption. */
const slopeDoubt = 0.15;
const ninetyPercent = 1.645;
/** A cell that was cut off, or electronics that hung, were not switched off. */
const chosen: ReadonlySet<ResetReason> = new Set(["user-off", "power-on"]);

/** Charge lost between two rested voltages over the days between, all such times taken together: a weighted line through
 *  the origin (each loss by the inverse of its variance; JCGM 100:2008, 5.1 for the doubt of each).
 *  @param runs oldest first, joined over midnights; @param boots oldest first; @param offset mV the converter reads high
 *  @returns null where it was never seen switched off for three days without a charge */
export function selfDischarge(
  runs: readonly PowerRun[],
  boots: readonly RecordedBoot[],
  holes: readonly SequenceHole[],
  offset: number,
): SelfDischarge | null {
  const times = runs.flatMap((run, index): TimeOff[] => {
    const before = runs[index - 1];
    if (!before || !wasOff(before, run, boots, holes)) return [];
    const time = {
      start: before.last,
      end: run.first,
      from: rest(before.tail, offset),
      to: rest(run.head, offset),
    };
    // It rose: somebody charged it meanwhile.
    return time.to - time.from > 2 * lossDeviation(time) ? [] : [time];
  });
  if (times.length === 0) return null;
  let weighted = 0;
  let weight = 0;
  for (const time of times) {
    const months = (time.end - time.start) / month;
    const own = 1 / lossDeviation(time) ** 2;
    weighted += own * months * (time.from - time.to);
    weight += own * months ** 2;
  }
  const best = Math.max(0, weighted / weight);
  const deviation = Math.hypot(1 / Math.sqrt(weight), slopeDoubt * best);
  const half = ninetyPercent * deviation;
  return {
    times,
    perMonth: { low: Math.max(0, best - half), best, high: best + half, level: 0.9 },
    deviation,
  };
}

function wasOff(
  before: PowerRun,
  run: PowerRun,
  boots: readonly RecordedBoot[],
  holes: readonly SequenceHole[],
): boolean {
  if (before.charging || run.charging || run.first - before.last < shortest) return false;
  if (before.last - before.first < rested || run.last - run.first < toldAll) return false;
  const between = boots.filter(({ at }) => at > before.last && at <= run.first + millisecondsIn.minute);
  const [boot] = between;
  if (between.length !== 1 || !boot || !chosen.has(boot.reset) || boot.placedWithin !== undefined)
    return false;
  return !holes.some((hole) => lies(hole, before.last, run.first));
}

/** Something it recorded in that time is missing: it was not off. */
function lies({ after, before, endsAbout }: SequenceHole, from: Instant, until: Instant): boolean {
  const start = after ?? before;
  const end = before ?? endsAbout ?? after;
  return start !== null && end !== null && start < until && end >= from;
}

const rest = (cells: readonly number[], offset: number): number =>
  stateOfCharge(millivolts(cells.reduce((sum, cell) => sum + cell, 0) / cells.length - offset)).best;

const lossDeviation = ({ from, to }: Pick<TimeOff, "from" | "to">): number =>
  Math.hypot(chargeDeviation(from, readingDoubt), chargeDeviation(to, readingDoubt));
