import type { UnitSerial } from "../domain/ids.ts";
import type {
  RecordedBoot,
  RecordedFault,
  RecordedFrame,
  RecordedMinute,
  RecordedRelief,
  UnitRecord,
} from "../domain/record/unit-record.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import { bootFrom, faultFrom, frameFrom, reliefFrom } from "./telemetry-events.ts";
import { type Found, findMessages } from "./telemetry-found.ts";
import { holesWithin } from "./telemetry-holes.ts";
import type { LostReports } from "./telemetry-lost.ts";
import { type MinuteRun, wholeMinutes } from "./telemetry-minutes.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

/** No message tells of a longer stretch: 1,440 minutes at most, and half a minute of rounding. */
const longestMessage = 24 * millisecondsIn.hour + millisecondsIn.minute;
const always = instant(Number.MAX_SAFE_INTEGER);

interface Sorted {
  readonly minutes: MinuteRun[];
  readonly reliefs: RecordedRelief[];
  readonly frames: RecordedFrame[];
  readonly boots: RecordedBoot[];
  readonly faults: RecordedFault[];
}

/** What of a unit's record starts within `span`, as `TelemetryStore.read` promises. */
export function readRecord(
  tables: TelemetryTables,
  lostReports: LostReports,
  unit: UnitSerial,
  span: Span,
  knownBy: Instant = always,
): UnitRecord {
  const rounding = millisecondsIn.minute;
  const found = findMessages(tables, unit, {
    startFrom: span.start - longestMessage,
    startBefore: span.end + rounding,
    endFrom: span.start - rounding,
    knownBy,
  });
  const sorted: Sorted = { minutes: [], reliefs: [], frames: [], boots: [], faults: [] };
  for (const each of found) add(sorted, each);
  const within = <T extends { readonly at: Instant }>(items: T[]): T[] =>
    items.filter(({ at }) => at >= span.start && at < span.end).sort((a, b) => a.at - b.at);
  return {
    minutes: withinInOrder(wholeMinutes(sorted.minutes), span),
    reliefs: within(sorted.reliefs),
    frames: within(sorted.frames),
    boots: within(sorted.boots),
    faults: within(sorted.faults),
    holes: holesWithin(tables, lostReports, unit, span, knownBy),
  };
}

/** As they come in order already, only the ends are cut off. */
function withinInOrder(minutes: readonly RecordedMinute[], span: Span): readonly RecordedMinute[] {
  let from = 0;
  let to = minutes.length;
  while (from < to && (minutes[from]?.at ?? span.start) < span.start) from += 1;
  while (to > from && (minutes[to - 1]?.at ?? span.end) >= span.end) to -= 1;
  return minutes.slice(from, to);
}

function add(sorted: Sorted, found: Found): void {
  if (found.kind === "minutes") {
    sorted.minutes.push(found);
    return;
  }
  const { message } = found;
  const when = { at: found.start, receivedAt: found.receivedAt };
  switch (message.kind) {
    case "relief":
      sorted.reliefs.push(reliefFrom(when, message));
      return;
    case "frame":
      sorted.frames.push(frameFrom(when, message));
      return;
    case "hello":
      // A unit says hello again when it is back after a while: that is no new boot.
      if (sorted.boots.at(-1)?.boot !== message.boot) sorted.boots.push(bootFrom(when, message));
      return;
    case "fault":
      sorted.faults.push(faultFrom(when, message));
      return;
  }
}
