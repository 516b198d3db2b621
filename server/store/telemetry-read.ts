import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { ToldEvents } from "../domain/record/told-events.ts";
import type {
  RecordedBoot,
  RecordedFault,
  RecordedFrame,
  RecordedRelief,
  SequenceHole,
  UnitRecord,
} from "../domain/record/unit-record.ts";
import type { BootAnchor } from "../domain/time/boot-anchor.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import { bootFrom, faultFrom, frameFrom, reliefFrom } from "./telemetry-events.ts";
import { decodedOf, type FoundBytes, findMessages } from "./telemetry-found.ts";
import { holesWithin } from "./telemetry-holes.ts";
import type { LostReports } from "./telemetry-lost.ts";
import { laidWithin, minutesIn, seatMinutesIn, wholeMinutes } from "./telemetry-minutes.ts";
import { placed } from "./telemetry-record.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";
import { toldEventsIn } from "./telemetry-told.ts";

/** No message tells of a longer stretch: 1,440 minutes at most, and half a minute of rounding. */
const longestMessage = 24 * millisecondsIn.hour + millisecondsIn.minute;
const always = instant(Number.MAX_SAFE_INTEGER);

/** What of a unit's record starts within `span`, as `TelemetryStore.read` promises. Minutes one by one, reliefs, frames and
 *  what the unit tells of itself are made when somebody asks for them: the ledger of a month doesn't. */
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
  const within = <T extends { readonly at: Instant }>(items: readonly T[]): T[] =>
    items.filter(({ at }) => at >= span.start && at < span.end).sort((a, b) => a.at - b.at);
  const { boots, faults } = sorted(found.others);
  const laid = laidWithin(wholeMinutes(found.minutes), span);
  const minutes = onceAsked(() => minutesIn(laid));
  const reliefs = onceAsked(() => within(reliefsIn(found.others)));
  const frames = onceAsked(() => within(framesIn(found.others)));
  const told = onceAsked(() => toldIn(found.others));
  const holes = onceAsked(() => holesWithin(tables, lostReports, unit, span, knownBy));
  const record: UnitRecord = {
    get minutes() {
      return minutes();
    },
    get reliefs() {
      return reliefs();
    },
    get frames() {
      return frames();
    },
    boots: within(boots).map((boot) => withDoubt(boot, tables.anchors.of(unit, boot.boot))),
    faults: within(faults),
    get holes() {
      return holes();
    },
    get powerEvents() {
      return within(told().powerEvents);
    },
    get relayHeartbeats() {
      return within(told().relayHeartbeats);
    },
    get selfTests() {
      return within(told().selfTests);
    },
    get prompts() {
      return within(told().prompts);
    },
    get storeOverruns() {
      return within(told().storeOverruns);
    },
    get greetings() {
      return within(told().greetings);
    },
    get notices() {
      return within(told().notices);
    },
    get commandResults() {
      return within(told().commandResults);
    },
    get renewals() {
      return within(told().renewals);
    },
  };
  // Not enumerable: a copy with other minutes must not take it along.
  return Object.defineProperty(record, "seatMinutes", { get: onceAsked(() => seatMinutesIn(laid)) });
}

const withDoubt = (boot: RecordedBoot, anchor: BootAnchor | null): RecordedBoot =>
  anchor?.basis === "arrival" ? { ...boot, placedWithin: anchor.error } : boot;

export const readHoles = (
  tables: TelemetryTables,
  lostReports: LostReports,
  unit: UnitSerial,
  span: Span,
): readonly SequenceHole[] => holesWithin(tables, lostReports, unit, span, always);

function onceAsked<Value>(make: () => Value): () => Value {
  let made: Value | undefined;
  return () => {
    made ??= make();
    return made;
  };
}

const whenOf = ({ bootedAt, receivedAt }: FoundBytes, message: UplinkMessage) => ({
  at: placed(message, bootedAt).start,
  receivedAt,
});

const reliefsIn = (others: readonly FoundBytes[]): RecordedRelief[] =>
  others.flatMap((found) => {
    const message = found.holds === "relief" ? decodedOf(found) : null;
    return message?.kind === "relief" ? [reliefFrom(whenOf(found, message), message)] : [];
  });

const framesIn = (others: readonly FoundBytes[]): RecordedFrame[] =>
  others.flatMap((found) => {
    const message = found.holds === "frame" ? decodedOf(found) : null;
    return message?.kind === "frame" ? [frameFrom(whenOf(found, message), message)] : [];
  });

/** Everything but reliefs and frames, whose sum is small; a relief is looked for only where a prompt names one. */
function toldIn(others: readonly FoundBytes[]): ToldEvents {
  const reliefs = new Map(
    others
      .filter(({ holds }) => holds === "relief")
      .map((found) => [`${found.boot} ${found.sequence}`, found]),
  );
  const reliefNamed = (boot: number, sequence: number): Instant | null => {
    const found = reliefs.get(`${boot} ${sequence}`);
    return found ? whenOf(found, decodedOf(found)).at : null;
  };
  const placedMessages = others
    .filter(({ holds }) => holds !== "relief" && holds !== "frame")
    .map((found) => {
      const message = decodedOf(found);
      return { when: whenOf(found, message), message };
    });
  return toldEventsIn(placedMessages, reliefNamed);
}

function sorted(others: readonly FoundBytes[]): { boots: RecordedBoot[]; faults: RecordedFault[] } {
  const boots: RecordedBoot[] = [];
  const faults: RecordedFault[] = [];
  for (const found of others) {
    if (found.holds !== "other") continue;
    const message = decodedOf(found);
    const when = whenOf(found, message);
    // A unit says hello again when it is back after a while: that is no new boot.
    if (message.kind === "hello" && boots.at(-1)?.boot !== message.boot) boots.push(bootFrom(when, message));
    if (message.kind === "fault") faults.push(faultFrom(when, message));
  }
  return { boots, faults };
}
