import { z } from "zod";
import {
  breakOffReasons,
  chargeEnds,
  faultCodes,
  notices,
  powerEvents,
  powerStates,
  refusalReasons,
  relayLinks,
  reliefKinds,
  resetReasons,
  resultStates,
  type UplinkMessage,
} from "../../firmware-protocol/src/messages.ts";

/** The protocol's messages as JSON: the names of messages.ts, a byte string as hexadecimal text. Ranges are the
 *  protocol's own to check, when the message is encoded. */
const whole = z.int();
const wholeOrNull = z.int().nullable();
const bytes = z
  .string()
  .regex(/^([0-9a-fA-F]{2})*$/, "not hexadecimal digits in pairs")
  .transform((text) => Uint8Array.from(Buffer.from(text, "hex")));
const name = z.strictObject({ boot: whole, sequence: whole });

const envelope = {
  unit: z.string(),
  boot: whole,
  sequence: whole,
  uptimeSeconds: whole,
  wallSeconds: wholeOrNull,
};

const minute = z.strictObject({
  loaded: z.boolean(),
  power: z.enum(powerStates),
  loadHectograms: whole,
  centreRightPercent: whole,
  centreFrontPercent: whole,
  cellMillivolts: whole,
  temperatureDecicelsius: whole,
  signalDecibelMilliwatts: wholeOrNull,
  humidityPercent: whole.exactOptional(),
});

export const messageForm: z.ZodType<UplinkMessage> = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("hello"),
    ...envelope,
    firmware: z.string(),
    hardware: z.string(),
    reset: z.enum(resetReasons),
    rows: whole,
    columns: whole,
    pitchMillimetres: whole,
    queued: whole,
    oldestUnsent: name.exactOptional(),
    storeCapacityMessages: whole.exactOptional(),
    certificateNotAfter: whole.exactOptional(),
    relay: z.string().exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("minutes"),
    ...envelope,
    firstUptimeSeconds: whole,
    minutes: z.array(minute),
  }),
  z.strictObject({
    kind: z.literal("relief"),
    ...envelope,
    relief: z.enum(reliefKinds),
    startUptimeSeconds: whole,
    holdSeconds: whole,
    depthPercent: whole,
    complete: z.boolean(),
    prompted: z.boolean(),
    brokenOff: z.enum(breakOffReasons).exactOptional(),
    sideLoadPercent: z.strictObject({ left: whole, right: whole }).exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("frame"),
    ...envelope,
    takenUptimeSeconds: whole,
    loaded: z.boolean(),
    rows: whole,
    columns: whole,
    temperatureDecicelsius: whole,
    cells: bytes,
  }),
  z.strictObject({
    kind: z.literal("fault"),
    ...envelope,
    fault: z.enum(faultCodes),
    atUptimeSeconds: whole,
    lost: z.strictObject({ boot: whole, fromSequence: whole, toSequence: whole }).nullable(),
    value: wholeOrNull,
  }),
  z.strictObject({
    kind: z.literal("power"),
    ...envelope,
    event: z.enum(powerEvents),
    atUptimeSeconds: whole,
    cellMillivolts: whole,
    temperatureDecicelsius: whole,
    ended: z.enum(chargeEnds).exactOptional(),
    step: z
      .strictObject({ restMillivolts: whole, loadMillivolts: whole, burstMilliamperes: whole })
      .exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("relay"),
    ...envelope,
    relay: z.string(),
    heardUptimeSeconds: whole,
    relayUptimeSeconds: wholeOrNull,
    link: z.enum(relayLinks),
    signalDecibelMilliwatts: whole,
  }),
  z.strictObject({
    kind: z.literal("self-test"),
    ...envelope,
    atUptimeSeconds: whole,
    passed: z.boolean(),
    rows: whole,
    columns: whole,
    cellsTested: whole,
    cellsFailed: whole,
    failedCells: z.array(whole),
    failedRows: z.array(whole),
    failedColumns: z.array(whole),
    command: z.string().exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("prompt"),
    ...envelope,
    givenUptimeSeconds: whole,
    planVersion: whole,
    followedBySequence: wholeOrNull,
  }),
  z.strictObject({
    kind: z.literal("notice"),
    ...envelope,
    notice: z.enum(notices),
    dueUnixSeconds: whole,
  }),
  z.strictObject({
    kind: z.literal("result"),
    ...envelope,
    command: z.string(),
    atUptimeSeconds: whole,
    state: z.enum(resultStates),
    reason: z.enum(refusalReasons).nullable(),
    detail: z.string().exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("renewal"),
    ...envelope,
    request: bytes,
    command: z.string().exactOptional(),
  }),
]);
