import type { MinuteRecord, UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import type {
  RecordedBoot,
  RecordedFault,
  RecordedFrame,
  RecordedMinute,
  RecordedRelief,
  UnitRecord,
} from "../../../server/domain/record/unit-record.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  kilograms,
  millivolts,
  probability,
  seconds,
} from "../../../server/domain/units.ts";
import { uptimeSpanOf } from "../../../server/store/telemetry-record.ts";
import { toldEventsIn } from "../../../server/store/telemetry-told.ts";

/** Messages as the unit wrote them, placed in time by its own clock: no wire, no store. A boot whose clock was never set
 *  is left out. */
export function recordOf(messages: readonly UplinkMessage[]): UnitRecord {
  const bootedAt = new Map<number, number>();
  for (const { boot, wallSeconds, uptimeSeconds } of messages)
    if (wallSeconds !== null && !bootedAt.has(boot))
      bootedAt.set(boot, 1_000 * (wallSeconds - uptimeSeconds));
  const minutes: RecordedMinute[] = [];
  const reliefs: RecordedRelief[] = [];
  const frames: RecordedFrame[] = [];
  const boots: RecordedBoot[] = [];
  const faults: RecordedFault[] = [];
  for (const message of messages) {
    const base = bootedAt.get(message.boot);
    if (base === undefined) continue;
    const at = (uptime: number): Instant => instant(base + 1_000 * uptime);
    const receivedAt = at(message.uptimeSeconds);
    const { boot } = message;
    switch (message.kind) {
      case "minutes":
        message.minutes.forEach((minute, index) => {
          minutes.push(minuteOf(minute, at(message.firstUptimeSeconds + 60 * index), receivedAt, boot));
        });
        break;
      case "relief":
        reliefs.push({
          at: at(message.startUptimeSeconds),
          receivedAt,
          kind: message.relief,
          hold: seconds(message.holdSeconds),
          depth: probability(message.depthPercent / 100),
          outcome: message.complete ? "complete" : "broken-off",
          prompted: message.prompted,
        });
        break;
      case "frame":
        frames.push({
          at: at(message.takenUptimeSeconds),
          receivedAt,
          seat: message.loaded ? "loaded" : "empty",
          rows: message.rows,
          columns: message.columns,
          cells: message.cells,
          temperature: celsius(message.temperatureDecicelsius / 10),
        });
        break;
      case "hello":
        boots.push({
          at: receivedAt,
          receivedAt,
          boot,
          reset: message.reset,
          firmware: message.firmware,
          hardware: message.hardware,
          clockSet: message.wallSeconds !== null,
          rows: message.rows,
          columns: message.columns,
          queued: message.queued,
        });
        break;
      case "fault":
        faults.push({ at: at(message.atUptimeSeconds), receivedAt, code: message.fault, detail: "" });
        break;
    }
  }
  minutes.sort((a, b) => a.at - b.at);
  return { minutes, reliefs, frames, boots, faults, holes: [], ...toldOf(messages, bootedAt) };
}

function toldOf(messages: readonly UplinkMessage[], bootedAt: ReadonlyMap<number, number>) {
  const placed = messages.flatMap((message) => {
    const base = bootedAt.get(message.boot);
    if (base === undefined) return [];
    const at = instant(base + 1_000 * uptimeSpanOf(message).from);
    return [{ when: { at, receivedAt: instant(base + 1_000 * message.uptimeSeconds) }, message }];
  });
  return toldEventsIn(placed, () => null);
}

function minuteOf(minute: MinuteRecord, at: Instant, receivedAt: Instant, boot: number): RecordedMinute {
  return {
    at,
    receivedAt,
    boot,
    seat: minute.loaded ? "loaded" : "empty",
    load: kilograms(minute.loadHectograms / 10),
    centreRight: minute.centreRightPercent,
    centreFront: minute.centreFrontPercent,
    cell: millivolts(minute.cellMillivolts),
    power: minute.power,
    temperature: celsius(minute.temperatureDecicelsius / 10),
    signal:
      minute.signalDecibelMilliwatts === null ? null : decibelMilliwatts(minute.signalDecibelMilliwatts),
  };
}

/** What was on record at `end`, no more than 28 days of it: as far back as the console looks. */
export function recordUntil(record: UnitRecord, end: number): UnitRecord {
  const start = end - 28 * 86_400_000;
  const cut = <Item extends { readonly at: Instant }>(items: readonly Item[]) =>
    items.filter(({ at }) => at >= start && at < end);
  return {
    minutes: cut(record.minutes),
    reliefs: cut(record.reliefs),
    frames: cut(record.frames),
    boots: cut(record.boots),
    faults: cut(record.faults),
    holes: record.holes,
    powerEvents: cut(record.powerEvents),
    relayHeartbeats: cut(record.relayHeartbeats),
    selfTests: cut(record.selfTests),
    prompts: cut(record.prompts),
    storeOverruns: cut(record.storeOverruns),
    greetings: cut(record.greetings),
    notices: cut(record.notices),
    commandResults: cut(record.commandResults),
    renewals: cut(record.renewals),
  };
}
