import { qualifies } from "../adherence/due-reliefs.ts";
import type { ReliefPlan } from "../adherence/relief-plan.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { addDigests, type DayDigest } from "./day-digest.ts";
import { differ } from "./shares-differ.ts";
import type { ThinContext } from "./thin-context.ts";

/** One observed day of a loan as its ledger and its record tell it. */
export interface HabitDay {
  readonly met: number;
  readonly missed: number;
  /** Saturday or Sunday. */
  readonly weekend: boolean;
  readonly digest: DayDigest;
}

type CountedDay = Pick<HabitDay, "met" | "missed" | "weekend">;

export type AroundThin = Pick<ThinContext, "habit" | "mix" | "prompts" | "stirs" | "load">;

/** A day with fewer assessable reliefs than this says nothing of a habit. Assumption. */
const fewestInADay = 4;
/** Less seated time than this has no usual load. Assumption. */
const fewestSeatedMinutes = 600;
/** Fewer earlier weeks' days than this say nothing of how it used to be. Assumption. */
const fewestDaysLongAgo = 7;

/** The person's own earlier days against the days around the stretch.
 *  @param earlierDays up to 14 days before those
 *  @param latelyDays the day of the stretch and its neighbours
 *  @param within the record of the stretch itself
 *  @param longAgoDays the weeks before the earlier days
 *  @param weekend the stretch began on a Saturday or Sunday */
export function aroundThin(
  earlierDays: readonly HabitDay[],
  latelyDays: readonly HabitDay[],
  within: DayDigest,
  longAgoDays: readonly CountedDay[],
  weekend: boolean,
): AroundThin {
  const like = likeDays([...longAgoDays, ...earlierDays], weekend);
  const earlier = earlierDays.filter(like);
  const lately = latelyDays.filter(like);
  const longAgo = longAgoDays.filter(like);
  const seenBefore = earlier.filter(({ met, missed }) => met + missed >= fewestInADay);
  const before = addDigests(seenBefore.map(({ digest }) => digest));
  const now = addDigests(lately.map(({ digest }) => digest));
  const seenLongAgo = longAgo.filter(({ met, missed }) => met + missed >= fewestInADay);
  const daysNow = lately.filter(({ met, missed }) => met + missed > 0).length;
  return {
    habit:
      seenBefore.length === 0
        ? null
        : {
            earlier: { ...counts(seenBefore), days: seenBefore.length },
            lately: { ...counts(lately), days: Math.max(1, daysNow) },
            longAgo:
              seenLongAgo.length < fewestDaysLongAgo
                ? null
                : { ...counts(seenLongAgo), days: seenLongAgo.length },
          },
    mix: seenBefore.length === 0 ? null : { earlier: before.reliefs, lately: now.reliefs },
    prompts:
      seenBefore.length < 4 || daysNow === 0
        ? null
        : {
            earlierPrompted: before.prompted / seenBefore.length,
            latelyPrompted: now.prompted / daysNow,
            earlierUnprompted: before.unprompted / seenBefore.length,
            latelyUnprompted: now.unprompted / daysNow,
            given:
              before.promptsGiven === 0
                ? null
                : {
                    earlier: promptsOf(before, seenBefore.length),
                    lately: promptsOf(now, daysNow),
                  },
          },
    stirs:
      seenBefore.length === 0
        ? null
        : {
            count: within.stirs.elsewhere,
            minutes: within.seatedMinutes,
            usual: { ...before.stirs, seatedMinutes: before.seatedMinutes },
          },
    load: loadOf(before, within),
  };
}

/** Which days a day is held against: where weekends have gone otherwise than weekdays, by more than chance and by enough to
 *  matter, only those of its own sort; with few of them seen, that there are few is what then counts. */
function likeDays(days: readonly CountedDay[], weekend: boolean): (day: CountedDay) => boolean {
  const sort = (is: boolean) => counts(days.filter((one) => one.weekend === is));
  return differ(sort(true), sort(false)) ? (day) => day.weekend === weekend : () => true;
}

const promptsOf = ({ promptsGiven, promptsFollowed }: DayDigest, days: number) => ({
  given: promptsGiven / days,
  followed: promptsFollowed / days,
});

const counts = (days: readonly Pick<HabitDay, "met" | "missed">[]) => ({
  met: days.reduce((sum, { met }) => sum + met, 0),
  due: days.reduce((sum, { met, missed }) => sum + met + missed, 0),
});

/** The centre lies "on the other side" when it was clearly off the middle before and is as clearly off it the other
 *  way now; 8 % of the half width or depth, an assumption. */
const clearlyOff = 8;

function loadOf(before: DayDigest, within: DayDigest): ThinContext["load"] {
  if (before.seatedMinutes < fewestSeatedMinutes || within.seatedMinutes < 20 || before.load === 0)
    return null;
  const mean = (sum: number, day: DayDigest) => sum / day.seatedMinutes;
  const flipped = (was: number, is: number) =>
    was * is < 0 && Math.min(Math.abs(was), Math.abs(is)) >= clearlyOff;
  return {
    ratio: mean(within.load, within) / mean(before.load, before),
    turned:
      flipped(mean(before.centreRight, before), mean(within.centreRight, within)) ||
      flipped(mean(before.centreFront, before), mean(within.centreFront, within)),
  };
}

/** Reliefs in the stretch that the plan in force doesn't count for being short or broken off.
 *  @param before the version that came before it; null: none did */
export function triesIn(
  reliefs: readonly RecordedRelief[],
  plan: ReliefPlan | null,
  before: ReliefPlan | null,
): NonNullable<ThinContext["tries"]> {
  const tried = reliefs.filter(
    (relief) => relief.outcome === "broken-off" || (plan !== null && relief.hold < plan.hold),
  );
  return {
    count: tried.length,
    countedBefore: before === null ? 0 : tried.filter((relief) => qualifies(relief, before)).length,
  };
}
