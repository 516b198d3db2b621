import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type {
  Envelope,
  Fault,
  Frame,
  Hello,
  MinuteRecord,
  Minutes,
  UplinkMessage,
} from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";

/** 4 May 2026, 08:00 UTC: when the cushion of these tests was switched on. */
export const switchedOn = instant(Date.UTC(2026, 4, 4, 8));
export const cushion = unitSerial("CU-000007");

export const minuteRecord: MinuteRecord = {
  loaded: true,
  power: "on-battery",
  loadHectograms: 612,
  centreRightPercent: 4,
  centreFrontPercent: -7,
  cellMillivolts: 3_890,
  temperatureDecicelsius: 284,
  signalDecibelMilliwatts: -61,
};

interface Written {
  readonly boot?: number;
  readonly sequence?: number;
  readonly uptime: number;
  /** What its clock showed; by default the truth. */
  readonly wall?: number | null;
  readonly unit?: string;
  readonly bootedAt?: number;
}

export const envelope = ({ boot = 1, sequence = 0, uptime, wall, unit, bootedAt }: Written): Envelope => ({
  unit: unit ?? cushion,
  boot,
  sequence,
  uptimeSeconds: uptime,
  wallSeconds: wall === undefined ? Math.floor((bootedAt ?? switchedOn) / 1_000) + uptime : wall,
});

export const hello = (written: Written, firmware = "2.3.1"): Hello => ({
  kind: "hello",
  ...envelope(written),
  firmware,
  hardware: "B",
  reset: "power-on",
  rows: 16,
  columns: 16,
  pitchMillimetres: 25,
  queued: 0,
});

/** `count` minutes that end when the message is written. */
export const minutesUpTo = (written: Written, count: number): Minutes => ({
  kind: "minutes",
  ...envelope(written),
  firstUptimeSeconds: written.uptime - count * 60,
  minutes: Array.from({ length: count }, () => minuteRecord),
});

/** 64 by 64 cells, the largest there is. */
export const frame = (written: Written): Frame => ({
  kind: "frame",
  ...envelope(written),
  takenUptimeSeconds: written.uptime,
  loaded: true,
  rows: 64,
  columns: 64,
  temperatureDecicelsius: 280,
  cells: new Uint8Array(64 * 64).fill(77),
});

export const fault = (written: Written, code: Fault["fault"], lost: Fault["lost"] = null): Fault => ({
  kind: "fault",
  ...envelope(written),
  fault: code,
  atUptimeSeconds: written.uptime,
  lost,
  value: null,
});

/** As it comes in, by default the moment it was written. */
export const incoming = (
  message: UplinkMessage,
  receivedAt: Instant = instant(switchedOn + message.uptimeSeconds * 1_000),
  unit: UnitSerial = cushion,
): IncomingMessage => ({
  unit,
  topic: uplinkTopic(unit, message.kind),
  receivedAt,
  payload: encodeUplink(message),
});
