import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { Envelope, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { topicRoot, uplinkKinds } from "../../firmware-protocol/src/topics.ts";
import { instant } from "../../server/domain/units.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import type { TelemetryStore } from "../../server/store/telemetry-port.ts";
import { accepted, bytesOf } from "../firmware-protocol/vectors.ts";
import { cushion, envelope, fault, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

let folder: string;
let database: OpenDatabase;
let store: TelemetryStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "telemetry-"));
  database = openDatabase(folder);
  store = createTelemetryStore(database);
});

afterEach(() => {
  database.close();
  rmSync(folder, { recursive: true, force: true });
});

const day = { start: switchedOn, end: instant(switchedOn + 2 * 86_400_000) };

/** The protocol's own example of a message, as if this cushion had written it. */
function exampleOf(kind: string, sequence: number): UplinkMessage {
  const vector = accepted.find(({ name }) => name === `message ${kind}`);
  const read = decodeUplink(bytesOf(vector?.hex ?? ""));
  if (read.kind === "unreadable") throw new Error(read.reason);
  const own: Envelope = envelope({ uptime: read.uptimeSeconds, sequence });
  return read.kind === "prompt" ? { ...read, ...own, followedBySequence: null } : { ...read, ...own };
}

async function recordWithEveryKind() {
  await store.append([
    incoming(hello({ uptime: 1 })),
    ...uplinkKinds.map((kind, at) => incoming(exampleOf(kind, 1 + at))),
  ]);
  return store.read(cushion, day);
}

describe("a message of any kind that the protocol gives", () => {
  it("is stored and covered by a receipt", async () => {
    const messages = uplinkKinds.map((kind, sequence) => incoming(exampleOf(kind, sequence)));
    const outcome = await store.append(messages);
    expect(outcome).toMatchObject({ stored: uplinkKinds.length, keptAside: 0 });
    expect(outcome.receipts.get(cushion)).toEqual([{ boot: 1, through: uplinkKinds.length - 1, holes: [] }]);
  });

  it("becomes a fact of the record, placed in true time, with the values of the protocol's own example", async () => {
    const record = await recordWithEveryKind();
    const placedAt = (uptime: number) => ({ at: instant(switchedOn + uptime * 1_000), boot: 1 });
    expect(record.powerEvents).toMatchObject([
      { ...placedAt(86_350), event: "charge-start", ended: null, cell: 3_602, temperature: 24.1, step: null },
    ]);
    expect(record.relayHeartbeats).toMatchObject([
      { ...placedAt(86_390), relay: "R-09f3", link: "down", signal: -67 },
    ]);
    expect(record.relayHeartbeats[0]?.relayStartedAt).toBe(switchedOn + (86_390 - 5_210) * 1_000);
    expect(record.selfTests).toMatchObject([
      {
        ...placedAt(86_380),
        passed: false,
        cellsTested: 256,
        cellsFailed: 2,
        failedCells: [37, 201],
        failedRows: [],
        failedColumns: [5],
        command: null,
      },
    ]);
    expect(record.prompts).toMatchObject([{ ...placedAt(85_900), planVersion: 3, followedBy: null }]);
    expect(record.notices).toMatchObject([
      { ...placedAt(86_400), notice: "certificate-expires", due: 1_780_392_000_000 },
    ]);
    expect(record.commandResults).toMatchObject([
      { ...placedAt(86_399), command: "c-0192", state: "refused", reason: "seat-loaded" },
    ]);
    expect(record.renewals).toMatchObject([placedAt(86_400)]);
    expect(record.greetings).toHaveLength(2);
  });

  it("stays that fact once its day is packed", async () => {
    const before = await recordWithEveryKind();
    // Older than what a review has to have seen first: a week.
    while (await store.tidy(instant(switchedOn + 20 * 86_400_000), 1_000));
    expect(database.driver.prepare("select count(*) from message_block").pluck().get()).not.toBe(0);
    const packed = await store.read(cushion, day);
    expect(packed).toEqual(before);
  });

  it("leaves minutes, reliefs, boots and holes as they were, where it tells of something else", async () => {
    await store.append([
      incoming(hello({ uptime: 1 })),
      incoming(minutesUpTo({ sequence: 1, uptime: 600 }, 10)),
    ]);
    const whatThePersonDid = async () => {
      const { minutes, reliefs, frames, boots, faults, holes } = await store.read(cushion, day);
      return { minutes, reliefs, frames, boots, faults, holes };
    };
    const before = await whatThePersonDid();
    const others = ["power", "relay", "self-test", "prompt", "notice", "result", "renewal"];
    await store.append(others.map((kind, at) => incoming(exampleOf(kind, 2 + at))));
    expect(await whatThePersonDid()).toEqual(before);
  });
});

describe("what a unit tells beside the kinds", () => {
  it("ties a prompt to the relief that came of it", async () => {
    const relief = exampleOf("relief", 1);
    const prompt = exampleOf("prompt", 2);
    if (prompt.kind !== "prompt") throw new Error("no prompt");
    await store.append([incoming(relief), incoming({ ...prompt, followedBySequence: 1 })]);
    const { prompts, reliefs } = await store.read(cushion, day);
    expect(reliefs).toHaveLength(1);
    expect(prompts[0]?.followedBy).toEqual({ at: reliefs[0]?.at });
  });

  it("keeps what waited in its store, its relay and the end of its certificate, of each greeting", async () => {
    const greeting = {
      ...hello({ uptime: 4_000, sequence: 9 }),
      queued: 120,
      oldestUnsent: { boot: 1, sequence: 3 },
      storeCapacityMessages: 4_000,
      certificateNotAfter: 1_790_000_000,
      relay: "RL-00A4",
    };
    await store.append([incoming(hello({ uptime: 1 })), incoming(greeting)]);
    const { greetings, boots } = await store.read(cushion, day);
    expect(boots).toHaveLength(1);
    expect(greetings[1]).toMatchObject({
      queued: 120,
      oldestUnsent: { boot: 1, sequence: 3 },
      storeCapacity: 4_000,
      certificateEnds: 1_790_000_000_000,
      relay: "RL-00A4",
    });
  });

  it("keeps humidity of each minute, packed or not, and none where the unit measures none", async () => {
    const dry = minutesUpTo({ sequence: 1, uptime: 600 }, 5);
    const damp = minutesUpTo({ sequence: 2, uptime: 900 }, 5);
    const humid = {
      ...damp,
      minutes: damp.minutes.map((minute, at) => ({ ...minute, humidityPercent: 40 + at })),
    };
    await store.append([incoming(hello({ uptime: 1 })), incoming(dry), incoming(humid)]);
    const humidities = async () => (await store.read(cushion, day)).minutes.map(({ humidity }) => humidity);
    const expected = [undefined, undefined, undefined, undefined, undefined, 40, 41, 42, 43, 44];
    expect(await humidities()).toEqual(expected);
    while (await store.tidy(instant(switchedOn + 20 * 86_400_000), 1_000));
    expect(database.driver.prepare("select count(*) from message_block").pluck().get()).not.toBe(0);
    expect(await humidities()).toEqual(expected);
  });

  it("says what an overrun lost, in messages", async () => {
    const lost = { boot: 1, fromSequence: 4, toSequence: 23 };
    await store.append([incoming(fault({ uptime: 500, sequence: 30 }, "store-overrun", lost))]);
    const { storeOverruns } = await store.read(cushion, day);
    expect(storeOverruns).toMatchObject([{ lost, messages: 20 }]);
  });
});

describe("a message of a newer unit, of a kind nobody here knows [FP-13.3] [FP-13.4]", () => {
  it("is kept aside with the clause, and covered by a receipt so that the unit's store does not fill", async () => {
    const payload = Uint8Array.from(encodeUplink(hello({ uptime: 1 })));
    // The fifth byte is the message's number: 23, where this version ends at 12.
    payload[4] = 23;
    const topic = `${topicRoot(cushion)}/up/weather`;
    const outcome = await store.append([{ ...incoming(hello({ uptime: 1 })), topic, payload }]);
    expect(outcome).toMatchObject({ stored: 0, keptAside: 1 });
    expect(outcome.receipts.get(cushion)).toEqual([{ boot: 1, through: 0, holes: [] }]);
    const [aside] = await store.keptAside();
    expect(aside).toMatchObject({ unit: cushion, messages: 1 });
    expect(database.driver.prepare("select clause from kept_aside").pluck().all()).toEqual(["FP-4.2"]);
  });
});
