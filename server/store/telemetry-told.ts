import type {
  Envelope,
  Fault,
  Hello,
  Notice,
  Power,
  Prompt,
  Relay,
  Renewal,
  Result,
  SelfTest,
  UplinkMessage,
} from "../../firmware-protocol/src/messages.ts";
import type {
  RecordedCommandResult,
  RecordedGreeting,
  RecordedNotice,
  RecordedPowerEvent,
  RecordedPrompt,
  RecordedRenewal,
  RecordedSelfTest,
  RelayHeartbeat,
  StoreOverrun,
  ToldEvents,
} from "../domain/record/told-events.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  milliamperes,
  millivolts,
  seconds,
} from "../domain/units.ts";
import type { When } from "./telemetry-events.ts";

/** One message with its place in true time. */
export interface PlacedMessage {
  readonly when: When;
  readonly message: UplinkMessage;
}

/** When the relief of this name began; null where it isn't among what was read. */
export type FindRelief = (boot: number, sequence: number) => Instant | null;

type Gathered = { -readonly [List in keyof ToldEvents]: ToldEvents[List][number][] };

/** Sorts what a unit told of itself into its lists, in the order it comes. */
export function toldEventsIn(messages: Iterable<PlacedMessage>, findRelief: FindRelief): Gathered {
  const told: Gathered = {
    powerEvents: [],
    relayHeartbeats: [],
    selfTests: [],
    prompts: [],
    storeOverruns: [],
    greetings: [],
    notices: [],
    commandResults: [],
    renewals: [],
  };
  for (const { when, message } of messages) addTo(told, when, message, findRelief);
  return told;
}

function addTo(told: Gathered, when: When, message: UplinkMessage, findRelief: FindRelief): void {
  switch (message.kind) {
    case "hello":
      told.greetings.push(greetingFrom(when, message));
      return;
    case "fault":
      if (message.lost !== null) told.storeOverruns.push(overrunFrom(when, message, message.lost));
      return;
    case "power":
      told.powerEvents.push(powerEventFrom(when, message));
      return;
    case "relay":
      told.relayHeartbeats.push(heartbeatFrom(when, message));
      return;
    case "self-test":
      told.selfTests.push(selfTestFrom(when, message));
      return;
    case "prompt":
      told.prompts.push(promptFrom(when, message, findRelief));
      return;
    case "notice":
      told.notices.push(noticeFrom(when, message));
      return;
    case "result":
      told.commandResults.push(resultFrom(when, message));
      return;
    case "renewal":
      told.renewals.push(renewalFrom(when, message));
      return;
    case "minutes":
    case "relief":
    case "frame":
      return;
  }
}

const named = ({ at, receivedAt }: When, { boot, sequence }: Envelope) => ({
  at,
  receivedAt,
  boot,
  sequence,
});

const powerEventFrom = (when: When, message: Power): RecordedPowerEvent => ({
  ...named(when, message),
  event: message.event,
  cell: millivolts(message.cellMillivolts),
  temperature: celsius(message.temperatureDecicelsius / 10),
  ended: message.ended ?? null,
  step: message.step
    ? {
        rest: millivolts(message.step.restMillivolts),
        underLoad: millivolts(message.step.loadMillivolts),
        burst: milliamperes(message.step.burstMilliamperes),
      }
    : null,
});

const heartbeatFrom = (when: When, message: Relay): RelayHeartbeat => ({
  ...named(when, message),
  uptime: seconds(message.heardUptimeSeconds),
  relay: message.relay,
  relayStartedAt:
    message.relayUptimeSeconds === null ? null : instant(when.at - message.relayUptimeSeconds * 1_000),
  link: message.link,
  signal: decibelMilliwatts(message.signalDecibelMilliwatts),
});

const selfTestFrom = (when: When, message: SelfTest): RecordedSelfTest => ({
  ...named(when, message),
  passed: message.passed,
  rows: message.rows,
  columns: message.columns,
  cellsTested: message.cellsTested,
  cellsFailed: message.cellsFailed,
  failedCells: message.failedCells,
  failedRows: message.failedRows,
  failedColumns: message.failedColumns,
  command: message.command ?? null,
});

/** Written out, not spread: a year holds thousands of them. */
const promptFrom = ({ at, receivedAt }: When, message: Prompt, findRelief: FindRelief): RecordedPrompt => ({
  at,
  receivedAt,
  boot: message.boot,
  sequence: message.sequence,
  planVersion: message.planVersion,
  followedBy:
    message.followedBySequence === null ? null : { at: findRelief(message.boot, message.followedBySequence) },
});

const overrunFrom = (when: When, message: Fault, lost: NonNullable<Fault["lost"]>): StoreOverrun => ({
  ...named(when, message),
  lost,
  messages: lost.toSequence - lost.fromSequence + 1,
});

const greetingFrom = (when: When, message: Hello): RecordedGreeting => ({
  ...named(when, message),
  reset: message.reset,
  firmware: message.firmware,
  hardware: message.hardware,
  queued: message.queued,
  oldestUnsent: message.oldestUnsent ?? null,
  storeCapacity: message.storeCapacityMessages ?? null,
  certificateEnds:
    message.certificateNotAfter === undefined ? null : instant(message.certificateNotAfter * 1_000),
  relay: message.relay ?? null,
});

const noticeFrom = (when: When, message: Notice): RecordedNotice => ({
  ...named(when, message),
  notice: message.notice,
  due: instant(message.dueUnixSeconds * 1_000),
});

const resultFrom = (when: When, message: Result): RecordedCommandResult => ({
  ...named(when, message),
  command: message.command,
  state: message.state,
  reason: message.reason,
  detail: message.detail ?? null,
});

const renewalFrom = (when: When, message: Renewal): RecordedRenewal => ({
  ...named(when, message),
  command: message.command ?? null,
});
