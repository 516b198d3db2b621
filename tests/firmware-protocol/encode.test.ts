import { describe, expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { maximumUplinkBytes, minutesThatAlwaysFit } from "../../firmware-protocol/src/limits.ts";
import type { Fault, Frame, MinuteRecord, Minutes, Relief } from "../../firmware-protocol/src/messages.ts";

const envelope = { unit: "CU-4K7M2", boot: 12, sequence: 340, uptimeSeconds: 86400, wallSeconds: null };
const relief: Relief = {
  kind: "relief",
  ...envelope,
  relief: "tilt",
  startUptimeSeconds: 86000,
  holdSeconds: 90,
  depthPercent: 70,
  complete: true,
  prompted: false,
};
const frame: Frame = {
  kind: "frame",
  ...envelope,
  takenUptimeSeconds: 86000,
  loaded: false,
  rows: 2,
  columns: 2,
  temperatureDecicelsius: 250,
  cells: new Uint8Array(4),
};
const fault: Fault = {
  kind: "fault",
  ...envelope,
  fault: "wet",
  atUptimeSeconds: 86000,
  lost: null,
  value: null,
};
const minute: MinuteRecord = {
  loaded: true,
  power: "on-battery",
  loadHectograms: 600,
  centreRightPercent: 0,
  centreFrontPercent: 0,
  cellMillivolts: 3900,
  temperatureDecicelsius: 300,
  signalDecibelMilliwatts: -60,
};
const minutesOf = (minutes: readonly MinuteRecord[]): Minutes => ({
  kind: "minutes",
  ...envelope,
  firstUptimeSeconds: 0,
  minutes,
});

describe("an encoder given a message that breaks the protocol", () => {
  const broken = [
    ["unit", { ...relief, unit: "cu/#" }],
    ["boot", { ...relief, boot: -1 }],
    ["sequence", { ...relief, sequence: 1.5 }],
    ["uptimeSeconds", { ...relief, uptimeSeconds: Number.NaN }],
    ["startUptimeSeconds", { ...relief, startUptimeSeconds: 86401 }],
    ["depthPercent", { ...relief, depthPercent: 101 }],
    ["takenUptimeSeconds", { ...frame, takenUptimeSeconds: 86401 }],
    ["cells", { ...frame, cells: new Uint8Array(5) }],
    ["lost", { ...fault, fault: "store-overrun" }],
    ["lost", { ...fault, lost: { boot: 1, fromSequence: 1, toSequence: 2 } }],
    ["minutes", minutesOf([])],
    ["firstUptimeSeconds", { ...minutesOf([minute, minute]), firstUptimeSeconds: 86341 }],
    ["cellMillivolts", minutesOf([minute, { ...minute, cellMillivolts: 6001 }])],
    ["signalDecibelMilliwatts", minutesOf([{ ...minute, signalDecibelMilliwatts: 1 }])],
  ] as const;

  it.each(broken)("refuses it naming %s", (field, message) => {
    expect(() => encodeUplink(message)).toThrow(RangeError);
    expect(() => encodeUplink(message)).toThrow(new RegExp(`^${field}: `));
  });

  it("refuses a plan without any kind of relief", () => {
    const plan = { kind: "plan", version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: [] } as const;
    expect(() => encodeDownlink(plan)).toThrow(/^kinds: /);
  });
});

describe("a long run of minutes", () => {
  const low = {
    ...minute,
    loadHectograms: 0,
    centreRightPercent: -100,
    centreFrontPercent: -100,
    cellMillivolts: 0,
    temperatureDecicelsius: -400,
    signalDecibelMilliwatts: -140,
  };
  const high = {
    ...minute,
    loadHectograms: 5000,
    centreRightPercent: 100,
    centreFrontPercent: 100,
    cellMillivolts: 6000,
    temperatureDecicelsius: 1250,
    signalDecibelMilliwatts: 0,
  };
  const longest = {
    unit: "A".repeat(32),
    boot: 0xffffffff,
    sequence: 0xffffffff,
    uptimeSeconds: 0xffffffff,
    wallSeconds: 0xffffffff,
    firstUptimeSeconds: 0xffff0000,
  };
  const swings = (minutes: number): Minutes => ({
    ...minutesOf(Array.from({ length: minutes }, (_, at) => (at % 2 === 0 ? low : high))),
    ...longest,
  });

  it("fits however the values swing, up to the promised length", () => {
    const worst = swings(minutesThatAlwaysFit);
    const bytes = encodeUplink(worst);
    expect(bytes.length).toBeLessThanOrEqual(maximumUplinkBytes);
    expect(decodeUplink(bytes)).toEqual(worst);
  });

  it("is refused where it comes out longer than a message may be", () => {
    expect(() => encodeUplink(swings(minutesThatAlwaysFit + 40))).toThrow(/^message: \d+ bytes/);
  });
});

describe("a frame read from a buffer that is used again", () => {
  it("keeps its own cells", () => {
    const received = Buffer.from(encodeUplink({ ...frame, cells: Uint8Array.of(1, 2, 3, 4) }));
    const read = decodeUplink(received);
    received.fill(0);
    expect(read).toMatchObject({ kind: "frame", cells: Uint8Array.of(1, 2, 3, 4) });
  });
});
