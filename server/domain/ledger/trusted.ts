import type { RecordedFault } from "../record/unit-record.ts";
import { instant, millisecondsIn, type Span } from "../units.ts";

/** How long one report of moisture throws doubt on the grid. A unit that stays wet reports again.
 *  Assumption: a wet patch reads as load and dries slowly (common practice, no source). */
const wetDoubtMinutes = 30;

/** Stretches in which a unit's own word on "seated or empty" can't be taken, joined and in order.
 *  Moisture adds load that isn't there, so that an empty seat reads as a long sit. A failed self-test of a line, heat
 *  or a charging fault doesn't change whether the whole seat is loaded, and leaves the minutes trusted. */
export function doubtfulSpans(faults: readonly RecordedFault[]): Span[] {
  const spans: Span[] = [];
  for (const fault of faults) {
    if (fault.code !== "wet") continue;
    const end = instant(fault.at + wetDoubtMinutes * millisecondsIn.minute);
    const last = spans.at(-1);
    if (last && fault.at <= last.end) spans[spans.length - 1] = { start: last.start, end };
    else spans.push({ start: fault.at, end });
  }
  return spans;
}
