import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type {
  RecordedBoot,
  RecordedFault,
  RecordedFrame,
  RecordedRelief,
  UnitRecord,
} from "../domain/record/unit-record.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import { bootFrom, faultFrom, frameFrom, reliefFrom } from "./telemetry-events.ts";
import { holesWithin } from "./telemetry-holes.ts";
import type { LostReports } from "./telemetry-lost.ts";
import { type StoredMinutes, wholeMinutes } from "./telemetry-minutes.ts";
import type { MessageRow, TelemetryStatements } from "./telemetry-statements.ts";

/** No message tells of a longer stretch: 1,440 minutes at most, and half a minute of rounding. */
const longestMessage = 24 * millisecondsIn.hour + millisecondsIn.minute;
const always = instant(Number.MAX_SAFE_INTEGER);

interface Sorted {
  readonly minutes: StoredMinutes[];
  readonly reliefs: RecordedRelief[];
  readonly frames: RecordedFrame[];
  readonly boots: RecordedBoot[];
  readonly faults: RecordedFault[];
}

/** What of a unit's record starts within `span`, as `TelemetryStore.read` promises. */
export function readRecord(
  statements: TelemetryStatements,
  lostReports: LostReports,
  unit: UnitSerial,
  span: Span,
  knownBy: Instant = always,
): UnitRecord {
  const rounding = millisecondsIn.minute;
  const rows = statements.inTime.all(
    unit,
    span.start - longestMessage,
    span.end + rounding,
    span.start - rounding,
    knownBy,
  );
  const sorted: Sorted = { minutes: [], reliefs: [], frames: [], boots: [], faults: [] };
  for (const row of rows) addRow(sorted, row);
  const within = <T extends { readonly at: Instant }>(items: T[]): T[] =>
    items.filter(({ at }) => at >= span.start && at < span.end).sort((a, b) => a.at - b.at);
  return {
    minutes: within(wholeMinutes(sorted.minutes)),
    reliefs: within(sorted.reliefs),
    frames: within(sorted.frames),
    boots: within(sorted.boots),
    faults: within(sorted.faults),
    holes: holesWithin(statements, lostReports, unit, span, knownBy),
  };
}

function addRow(sorted: Sorted, row: MessageRow): void {
  const message = decodeUplink(row.payload);
  const when = { at: row.startsAt, receivedAt: row.receivedAt };
  switch (message.kind) {
    case "minutes":
      sorted.minutes.push({ ...when, message });
      return;
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
    case "power":
    case "relay":
    case "self-test":
    case "prompt":
    case "notice":
    case "result":
    case "renewal":
      // Kept with the rest, and no part of the record yet.
      return;
    case "unreadable":
      throw new Error(`Stored message ${row.id} can no longer be read: ${message.reason}`);
  }
}
