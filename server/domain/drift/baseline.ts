import type { RecordedBoot } from "../record/unit-record.ts";
import { type Instant, instant } from "../units.ts";

/** From when readings may be compared: what new firmware makes of a grid is another reading. A swap begins a loan, and a
 *  record is of one loan, so nothing before it is in sight.
 *  @param boots oldest first; @returns the start of the firmware that runs now, the beginning of time where it never changed */
export function baselineStart(boots: readonly RecordedBoot[]): Instant {
  const running = boots.at(-1)?.firmware;
  const lastOther = boots.findLastIndex(({ firmware }) => firmware !== running);
  return lastOther === -1 ? instant(0) : (boots[lastOther + 1]?.at ?? instant(0));
}
