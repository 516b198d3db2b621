import type { UplinkKind } from "../../firmware-protocol/src/messages.ts";
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
import { decodedOf, type FoundBytes, type FoundMessages, findMessages, spanOf } from "./telemetry-found.ts";
import { holesWithin } from "./telemetry-holes.ts";
import type { LostReports } from "./telemetry-lost.ts";
import { laidWithin, loadMinutesIn, minutesIn, seatMinutesIn, wholeMinutes } from "./telemetry-minutes.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";
import { type FindRelief, toldEventsIn } from "./telemetry-told.ts";

/** No message tells of a longer stretch: 1,440 minutes at most, and half a minute of rounding. */
const longestMessage = 24 * millisecondsIn.hour + millisecondsIn.minute;
const rounding = millisecondsIn.minute;
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
  const found = findMessages(tables, unit, {
    startFrom: span.start - longestMessage,
    startBefore: span.end + rounding,
    endFrom: span.start - rounding,
    knownBy,
  });
  const within = <T extends { readonly at: Instant }>(items: readonly T[]): T[] =>
    items.filter(({ at }) => at >= span.start && at < span.end).sort((a, b) => a.at - b.at);
  const inTime = (kind: UplinkKind) => found.others(kind).filter((one) => tellsOf(one, span));
  const boots = bootsIn(inTime("hello"));
  const faults = faultsIn(inTime("fault"));
  const laid = laidWithin(wholeMinutes(found.minutes), span);
  const minutes = onceAsked(() => minutesIn(laid));
  const reliefs = onceAsked(() => within(reliefsIn(found.others("relief"))));
  const frames = onceAsked(() => within(framesIn(found.others("frame"))));
  const told = <List extends keyof ToldEvents>(list: List, kind: UplinkKind) =>
    onceAsked(() => within<ToldEvents[List][number]>(toldOf(found, kind)[list]));
  const powerEvents = told("powerEvents", "power");
  const relayHeartbeats = told("relayHeartbeats", "relay");
  const selfTests = told("selfTests", "self-test");
  const prompts = told("prompts", "prompt");
  const storeOverruns = told("storeOverruns", "fault");
  const greetings = told("greetings", "hello");
  const notices = told("notices", "notice");
  const commandResults = told("commandResults", "result");
  const renewals = told("renewals", "renewal");
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
      return powerEvents();
    },
    get relayHeartbeats() {
      return relayHeartbeats();
    },
    get selfTests() {
      return selfTests();
    },
    get prompts() {
      return prompts();
    },
    get storeOverruns() {
      return storeOverruns();
    },
    get greetings() {
      return greetings();
    },
    get notices() {
      return notices();
    },
    get commandResults() {
      return commandResults();
    },
    get renewals() {
      return renewals();
    },
  };
  // Not enumerable: a copy with other minutes must not take it along.
  return Object.defineProperties(record, {
    seatMinutes: { get: onceAsked(() => seatMinutesIn(laid)) },
    loadMinutes: { get: onceAsked(() => loadMinutesIn(laid)) },
  });
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

const whenOf = (found: FoundBytes) => ({ at: spanOf(found).start, receivedAt: found.receivedAt });

/** Ends at the earliest a moment before, and begins at the latest a moment after: what a minute's rounding may bring in. */
function tellsOf(found: FoundBytes, span: Span): boolean {
  const { start, end } = spanOf(found);
  return start >= span.start - longestMessage && start < span.end + rounding && end >= span.start - rounding;
}

const reliefsIn = (found: readonly FoundBytes[]): RecordedRelief[] =>
  found.flatMap((one) => {
    const message = decodedOf(one);
    return message.kind === "relief" ? [reliefFrom(whenOf(one), message)] : [];
  });

const framesIn = (found: readonly FoundBytes[]): RecordedFrame[] =>
  found.flatMap((one) => {
    const message = decodedOf(one);
    return message.kind === "frame" ? [frameFrom(whenOf(one), message)] : [];
  });

/** What the unit tells of itself in messages of one kind; a relief is looked for only where a prompt names one. */
function toldOf(found: FoundMessages, kind: UplinkKind): ToldEvents {
  const messages = found.others(kind).map((one) => {
    const message = decodedOf(one);
    return { when: whenOf(one), message };
  });
  return toldEventsIn(messages, reliefNamedIn(found));
}

function reliefNamedIn(found: FoundMessages): FindRelief {
  const reliefs = onceAsked(() => {
    const byBoot = new Map<number, Map<number, FoundBytes>>();
    for (const one of found.others("relief")) {
      const ofBoot = byBoot.get(one.boot) ?? new Map<number, FoundBytes>();
      byBoot.set(one.boot, ofBoot.set(one.sequence, one));
    }
    return byBoot;
  });
  return (boot, sequence) => {
    const relief = reliefs().get(boot)?.get(sequence);
    return relief ? whenOf(relief).at : null;
  };
}

function bootsIn(hellos: readonly FoundBytes[]): RecordedBoot[] {
  const boots: RecordedBoot[] = [];
  for (const found of hellos) {
    const message = decodedOf(found);
    // A unit says hello again when it is back after a while: that is no new boot.
    if (message.kind === "hello" && boots.at(-1)?.boot !== message.boot)
      boots.push(bootFrom(whenOf(found), message));
  }
  return boots;
}

const faultsIn = (found: readonly FoundBytes[]): RecordedFault[] =>
  found.flatMap((one) => {
    const message = decodedOf(one);
    return message.kind === "fault" ? [faultFrom(whenOf(one), message)] : [];
  });
