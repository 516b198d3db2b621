import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { MinuteRecord, ResetReason, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../../server/domain/ids.ts";
import type { Instant } from "../../server/domain/units.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";

const restingMinute: MinuteRecord = {
  loaded: true,
  power: "on-battery",
  loadHectograms: 640,
  centreRightPercent: 3,
  centreFrontPercent: -5,
  cellMillivolts: 3_850,
  temperatureDecicelsius: 290,
  signalDecibelMilliwatts: -60,
};

/** A unit that records as a test tells it to: boots, runs of equal minutes, faults, messages that never arrive. */
export function recordedUnit(
  unit: UnitSerial,
  boot: number,
  bootedAt: Instant,
  reset: ResetReason = "power-on",
) {
  const sent: IncomingMessage[] = [];
  let sequence = 0;
  let uptime = 0;
  const envelope = () => ({
    unit,
    boot,
    sequence: sequence++,
    uptimeSeconds: uptime,
    wallSeconds: Math.floor(bootedAt / 1_000) + uptime,
  });
  const send = (message: UplinkMessage, receivedAt: Instant) =>
    sent.push({ unit, topic: uplinkTopic(unit, message.kind), receivedAt, payload: encodeUplink(message) });
  return {
    sent,
    hello(receivedAt: Instant) {
      const about = {
        firmware: "1.0.0",
        hardware: "A",
        rows: 8,
        columns: 8,
        pitchMillimetres: 50,
        queued: 0,
      };
      send({ kind: "hello", ...envelope(), reset, ...about }, receivedAt);
    },
    relay(name: string, receivedAt: Instant) {
      const about = { heardUptimeSeconds: uptime, relayUptimeSeconds: null, signalDecibelMilliwatts: -60 };
      send({ kind: "relay", ...envelope(), relay: name, link: "not-told", ...about }, receivedAt);
    },
    /** `count` minutes in messages of up to ten. @param receivedAt null: they never arrive, but are numbered. */
    minutes(count: number, like: Partial<MinuteRecord>, receivedAt: Instant | null) {
      for (let left = count; left > 0; left -= 10) {
        const length = Math.min(10, left);
        const firstUptimeSeconds = uptime;
        uptime += length * 60;
        const minutes = Array.from({ length }, () => ({ ...restingMinute, ...like }));
        const message: UplinkMessage = { kind: "minutes", ...envelope(), firstUptimeSeconds, minutes };
        if (receivedAt !== null) send(message, receivedAt);
      }
    },
    cutOff(receivedAt: Instant) {
      const fault = { fault: "battery-cut-off", atUptimeSeconds: uptime, lost: null, value: 3_150 } as const;
      send({ kind: "fault", ...envelope(), ...fault }, receivedAt);
    },
  };
}
