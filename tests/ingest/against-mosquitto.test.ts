import { execFile, spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { promisify } from "node:util";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { instant } from "../../server/domain/units.ts";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, type UnitCredentials } from "./broker-rig.ts";
import { hello } from "./cushion-messages.ts";

/** An MQTT client that is not ours and not the one the other tests use: Eclipse Mosquitto's command. */
const hasMosquitto = spawnSync("mosquitto_pub", ["--help"]).error === undefined;
const why = hasMosquitto ? "" : " (skipped: this machine has no mosquitto_pub)";
const unit = things.lentUnit;
const run = promisify(execFile);

describe.skipIf(!hasMosquitto)(`spoken to by mosquitto_pub${why}`, () => {
  let rig: BrokerRig;

  beforeEach(async () => {
    rig = await brokerRig();
  });
  afterEach(() => rig.stop());

  const path = (name: string) => join(rig.services.dataFolder, name);

  function publish(credentials: UnitCredentials, topic: string) {
    writeFileSync(path("unit.key"), credentials.key, { mode: 0o600 });
    writeFileSync(path("unit.pem"), credentials.cert);
    writeFileSync(path("root.pem"), credentials.ca);
    writeFileSync(path("message"), encodeUplink(hello({ unit, uptime: 1 })));
    const tls = ["--cafile", path("root.pem"), "--cert", path("unit.pem"), "--key", path("unit.key")];
    const to = ["-h", "localhost", "-p", String(rig.broker.port), "-i", unit, "-V", "mqttv311", "-q", "1"];
    return run("mosquitto_pub", [...to, ...tls, "-t", topic, "-f", path("message")], { timeout: 10_000 });
  }

  it("stores what it publishes and acknowledges it", async () => {
    await publish(await rig.credentialsFor(unit), uplinkTopic(unit, "hello"));
    const record = await rig.services.telemetry.read(unit, {
      start: instant(0),
      end: instant(4_102_444_800_000),
    });
    expect(record.boots).toHaveLength(1);
    expect(rig.broker.counters()).toMatchObject({ received: 1, stored: 1 });
  });

  it("refuses it another unit's topic", async () => {
    const credentials = await rig.credentialsFor(unit);
    await publish(credentials, uplinkTopic(things.stockUnit, "hello")).catch(() => {});
    expect(rig.broker.counters()).toMatchObject({ refusedPublishes: 1, received: 0 });
  });
});
