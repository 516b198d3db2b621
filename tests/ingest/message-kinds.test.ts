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
import { cushion, envelope, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

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

describe("a message of any kind that the protocol gives", () => {
  it("is stored and covered by a receipt", async () => {
    const messages = uplinkKinds.map((kind, sequence) => incoming(exampleOf(kind, sequence)));
    const outcome = await store.append(messages);
    expect(outcome).toMatchObject({ stored: uplinkKinds.length, keptAside: 0 });
    expect(outcome.receipts.get(cushion)).toEqual([{ boot: 1, through: uplinkKinds.length - 1, holes: [] }]);
  });

  it("leaves the record of the minutes as it was, where it tells of something else", async () => {
    await store.append([
      incoming(hello({ uptime: 1 })),
      incoming(minutesUpTo({ sequence: 1, uptime: 600 }, 10)),
    ]);
    const before = await store.read(cushion, day);
    const others = ["power", "relay", "self-test", "prompt", "notice", "result", "renewal"];
    await store.append(others.map((kind, at) => incoming(exampleOf(kind, 2 + at))));
    expect(await store.read(cushion, day)).toEqual(before);
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
