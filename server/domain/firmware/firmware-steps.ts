import { median } from "../statistics/median.ts";
import { signedRank } from "../statistics/signed-rank.ts";
import type { Instant, Interval } from "../units.ts";
import type { AroundFirmware, FirmwareMeasure } from "./around-firmware.ts";

/** One thing before and after, over all units that got the firmware, each laid on the day it came to it. */
export interface FirmwareStep {
  readonly measure: FirmwareMeasure;
  readonly units: number;
  /** Medians over units; null of none. */
  readonly before: number | null;
  readonly after: number | null;
  /** After less before, at 90 %; null: too few units. */
  readonly step: Interval | null;
  readonly verdict: "moved" | "no-step-seen" | "too-few-units";
}

export interface FirmwareSteps {
  /** Units with days enough on both sides. */
  readonly units: number;
  readonly firstSeen: Instant | null;
  readonly steps: readonly FirmwareStep[];
}

/** Where six things are looked at, chance alone makes seven units that all rise once in eleven times, and eight once in
 *  twenty-one: 6 x 2 / 2^8. */
export const fewestUnits = 8;
/** Chance of calling anything a step that is none, over all that is looked at. Assumption. */
const allowed = 0.05;
const level = 0.9;

/** @param units each around the day it got the firmware; @param measures those the asker may see
 *  Source of what counts as moved: Holm 1979, Scand J Stat 6:65 */
export function firmwareSteps(
  units: readonly AroundFirmware[],
  measures: readonly FirmwareMeasure[],
): FirmwareSteps {
  const told = measures.map((measure) => compared(units, measure));
  const tested = told.filter(({ step }) => step !== null).sort((a, b) => a.chance - b.chance);
  const firstKept = tested.findIndex(({ chance }, index) => chance * (tested.length - index) > allowed);
  const moved = new Set(tested.slice(0, firstKept === -1 ? tested.length : firstKept));
  return {
    units: units.length,
    firstSeen: units.reduce<Instant | null>(
      (first, { day }) => (first === null || day < first ? day : first),
      null,
    ),
    steps: told.map((each) => {
      const { chance: _, ...step } = each;
      const verdict = step.step === null ? "too-few-units" : moved.has(each) ? "moved" : "no-step-seen";
      return { ...step, verdict };
    }),
  };
}

function compared(units: readonly AroundFirmware[], measure: FirmwareMeasure) {
  const pairs = units.flatMap(({ moved }) => moved[measure] ?? []);
  const rank = signedRank(
    pairs.map(({ before, after }) => after - before),
    level,
  );
  return {
    measure,
    units: pairs.length,
    before: median(pairs.map(({ before }) => before)),
    after: median(pairs.map(({ after }) => after)),
    step: pairs.length < fewestUnits ? null : (rank?.shift ?? null),
    chance: rank?.chance ?? 1,
  };
}
