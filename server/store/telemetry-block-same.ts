import type { Minutes } from "../../firmware-protocol/src/messages.ts";
import type { PackedMessage } from "./telemetry-block.ts";

/** Whether the messages are the same, times and bytes. */
export const areSame = (a: readonly PackedMessage[], b: readonly PackedMessage[]): boolean =>
  a.length === b.length && a.every((message, at) => isSame(message, b[at]));

function isSame(a: PackedMessage, b: PackedMessage | undefined): boolean {
  if (b === undefined || a.sequence !== b.sequence) return false;
  if (a.receivedAt !== b.receivedAt || a.bootedAt !== b.bootedAt) return false;
  if (a.body.kind === "raw")
    return b.body.kind === "raw" && Buffer.compare(a.body.payload, b.body.payload) === 0;
  return b.body.kind === "minutes" && sameMinutes(a.body.message, b.body.message);
}

function sameMinutes(a: Minutes, b: Minutes): boolean {
  const sameTimes =
    a.uptimeSeconds === b.uptimeSeconds &&
    a.wallSeconds === b.wallSeconds &&
    a.firstUptimeSeconds === b.firstUptimeSeconds;
  if (!sameTimes || a.sequence !== b.sequence || a.minutes.length !== b.minutes.length) return false;
  return a.minutes.every((minute, at) => {
    const other = b.minutes[at];
    return (
      other !== undefined &&
      minute.loaded === other.loaded &&
      minute.power === other.power &&
      minute.loadHectograms === other.loadHectograms &&
      minute.centreRightPercent === other.centreRightPercent &&
      minute.centreFrontPercent === other.centreFrontPercent &&
      minute.cellMillivolts === other.cellMillivolts &&
      minute.temperatureDecicelsius === other.temperatureDecicelsius &&
      minute.signalDecibelMilliwatts === other.signalDecibelMilliwatts &&
      minute.humidityPercent === other.humidityPercent
    );
  });
}
