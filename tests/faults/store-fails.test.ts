import { afterEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { instant } from "../../server/domain/units.ts";
import {
  type BrokerRig,
  brokerRig,
  closed,
  connectUnit,
  type UnitCredentials,
} from "../ingest/broker-rig.ts";
import { frame, hello } from "../ingest/cushion-messages.ts";
import { things } from "../support/cast.ts";

const unit = things.lentUnit;
const always = { start: instant(0), end: instant(4_102_444_800_000) };
let rig: BrokerRig;

afterEach(() => rig.stop());

/** Sends one message on a connection of its own. @returns whether it was acknowledged */
async function acknowledged(credentials: UnitCredentials, kind: "hello" | "frame", payload: Uint8Array) {
  const client = await connectUnit(rig.broker.port, credentials);
  const ended = closed(client).then(() => false);
  const sent = client
    .publishAsync(uplinkTopic(unit, kind), Buffer.from(payload), { qos: 1 })
    .then(() => true)
    .catch(() => false);
  const result = await Promise.race([sent, ended]);
  client.end(true);
  return result;
}

describe("when the store can't commit", () => {
  it("there is no acknowledgement: the connection is dropped, and the unit's resend is stored later", async () => {
    let failing = true;
    rig = await brokerRig((real) => ({
      ...real,
      append: async (batch) => {
        if (failing) throw new Error("planted: the disk is gone");
        return real.append(batch);
      },
    }));
    const credentials = await rig.credentialsFor(unit);
    const message = encodeUplink(hello({ unit, uptime: 1 }));
    expect(await acknowledged(credentials, "hello", message)).toBe(false);
    expect(rig.broker.counters()).toMatchObject({ failedCommits: 1, stored: 0 });
    expect(rig.committed).toEqual([]);
    failing = false;
    expect(await acknowledged(credentials, "hello", message)).toBe(true);
    expect((await rig.services.telemetry.read(unit, always)).boots).toHaveLength(1);
  });

  it("a full disk loses nothing that was acknowledged, and once freed all goes on", async () => {
    rig = await brokerRig();
    const { driver } = rig.services.database;
    const credentials = await rig.credentialsFor(unit);
    const pages = Number(driver.pragma("page_count", { simple: true }));
    // SQLite then answers SQLITE_FULL as it does when the file system has no room.
    driver.pragma(`max_page_count = ${pages + 40}`);
    const kept: number[] = [];
    let sequence = 0;
    const send = (number: number) =>
      acknowledged(
        credentials,
        "frame",
        encodeUplink(frame({ unit, sequence: number, uptime: 60 + number })),
      );
    while (await send(sequence)) kept.push(sequence++);
    expect(kept.length).toBeGreaterThan(0);
    expect((await rig.services.telemetry.read(unit, always)).frames).toHaveLength(kept.length);
    driver.pragma("max_page_count = 1000000");
    expect(await send(sequence)).toBe(true);
    expect((await rig.services.telemetry.read(unit, always)).frames).toHaveLength(kept.length + 1);
  });
});
