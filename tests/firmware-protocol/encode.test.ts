import { describe, expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import {
  maximumUplinkBytes,
  minutesThatAlwaysFit,
  minutesThatAlwaysFitWithHumidity,
} from "../../firmware-protocol/src/limits.ts";
import type {
  Fault,
  Frame,
  MinuteRecord,
  Minutes,
  Power,
  Prompt,
  Relay,
  Relief,
  Renewal,
  Result,
  SelfTest,
} from "../../firmware-protocol/src/messages.ts";

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
const power: Power = {
  kind: "power",
  ...envelope,
  event: "charge-start",
  atUptimeSeconds: 86000,
  cellMillivolts: 3600,
  temperatureDecicelsius: 250,
};
const relay: Relay = {
  kind: "relay",
  ...envelope,
  relay: "R-1",
  heardUptimeSeconds: 86000,
  relayUptimeSeconds: null,
  link: "up",
  signalDecibelMilliwatts: -60,
};
const selfTest: SelfTest = {
  kind: "self-test",
  ...envelope,
  atUptimeSeconds: 86000,
  passed: true,
  rows: 2,
  columns: 3,
  cellsTested: 6,
  cellsFailed: 0,
  failedCells: [],
  failedRows: [],
  failedColumns: [],
};
const prompt: Prompt = {
  kind: "prompt",
  ...envelope,
  givenUptimeSeconds: 86000,
  planVersion: 1,
  followedBySequence: null,
};
const result: Result = {
  kind: "result",
  ...envelope,
  command: "c-1",
  atUptimeSeconds: 86000,
  state: "done",
  reason: null,
};
const renewal: Renewal = { kind: "renewal", ...envelope, request: new Uint8Array(9) };
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
    ["humidityPercent", minutesOf([minute, { ...minute, humidityPercent: 40 }])],
    ["humidityPercent", minutesOf([{ ...minute, humidityPercent: 101 }])],
    ["brokenOff", { ...relief, brokenOff: "got-up" }],
    ["sideLoadPercent", { ...relief, sideLoadPercent: { left: 201, right: 0 } }],
    ["ended", { ...power, event: "charge-end" }],
    ["ended", { ...power, ended: "full" }],
    ["step", { ...power, event: "voltage-step" }],
    ["heardUptimeSeconds", { ...relay, heardUptimeSeconds: 86401 }],
    ["relay", { ...relay, relay: "" }],
    ["cellsTested", { ...selfTest, cellsTested: 7 }],
    ["cellsFailed", { ...selfTest, cellsFailed: 7 }],
    ["failedCells", { ...selfTest, cellsFailed: 1 }],
    ["failedCells", { ...selfTest, cellsFailed: 1, failedCells: [6] }],
    ["failedRows", { ...selfTest, failedRows: [1, 1] }],
    ["failedColumns", { ...selfTest, failedColumns: [3] }],
    ["passed", { ...selfTest, failedColumns: [2] }],
    ["followedBySequence", { ...prompt, followedBySequence: 340 }],
    ["reason", { ...result, state: "refused" }],
    ["reason", { ...result, reason: "busy" }],
    ["detail", { ...result, detail: "é" }],
    ["request", { ...renewal, request: new Uint8Array() }],
  ] as const;

  it.each(broken)("refuses it naming %s", (field, message) => {
    expect(() => encodeUplink(message)).toThrow(RangeError);
    expect(() => encodeUplink(message)).toThrow(new RegExp(`^${field}: `));
  });

  it("refuses a plan without any kind of relief", () => {
    const plan = { kind: "plan", version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: [] } as const;
    expect(() => encodeDownlink(plan)).toThrow(/^kinds: /);
  });

  it("refuses a command that names a plan and does not ask for it", () => {
    const command = {
      kind: "command",
      id: "c-1",
      expiresUnixSeconds: 0,
      action: "frame",
      planVersion: 1,
    } as const;
    expect(() => encodeDownlink(command)).toThrow(/^planVersion: /);
  });

  it("refuses a chain of certificates that is empty, holds an empty one, or fills more than a message", () => {
    const certificate = { kind: "certificate", renewal: { boot: 1, sequence: 2 } } as const;
    expect(() => encodeDownlink({ ...certificate, chain: [] })).toThrow(/^chain: /);
    expect(() => encodeDownlink({ ...certificate, chain: [new Uint8Array()] })).toThrow(/^chain: /);
    const large = new Uint8Array(2048);
    expect(() => encodeDownlink({ ...certificate, chain: [large, large] })).toThrow(/^message: \d+ bytes/);
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

  it("fits with humidity up to the shorter promised length", () => {
    const { minutes, ...rest } = swings(minutesThatAlwaysFitWithHumidity);
    const humid = minutes.map((record, at) => ({ ...record, humidityPercent: at % 2 === 0 ? 0 : 100 }));
    const bytes = encodeUplink({ ...rest, minutes: humid });
    expect(bytes.length).toBeLessThanOrEqual(maximumUplinkBytes);
    expect(decodeUplink(bytes)).toEqual({ ...rest, minutes: humid });
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
