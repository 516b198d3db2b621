import type { RecordedMinute } from "../record/unit-record.ts";
import { millisecondsIn } from "../units.ts";
import { describedDraw } from "./capacity.ts";

const day = 24 * millisecondsIn.hour;
/** A day with less than this on record would be told by its brighter half. Assumption. */
const fewestMinutes = 22 * 60;

/** What each whole day would have drawn on battery, mA: by the hours sat on, empty, and out of touch.
 *  @param minutes oldest first */
export function dailyDraws(minutes: readonly RecordedMinute[]): number[] {
  const days = new Map<number, { minutes: number; sum: number }>();
  for (const minute of minutes) {
    const index = Math.floor(minute.at / day);
    const draw = describedDraw[minute.seat] + (minute.signal === null ? describedDraw.searching : 0);
    const today = days.get(index);
    if (today) {
      today.minutes++;
      today.sum += draw;
    } else days.set(index, { minutes: 1, sum: draw });
  }
  return [...days.values()]
    .filter((each) => each.minutes >= fewestMinutes)
    .map((each) => each.sum / each.minutes);
}
