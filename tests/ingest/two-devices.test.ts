import fc from "fast-check";
import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { heardSpeaking, noTurns, type Spoken, twoDevicesIn } from "../../server/domain/link/turn-taking.ts";
import { type Instant, instant, millisecondsIn } from "../../server/domain/units.ts";
import { clearTwoDevices } from "../../server/programme/tell-of-two-devices.ts";
import { openFindingsOf } from "../../server/store/findings.ts";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, connectUnit, type UnitCredentials } from "./broker-rig.ts";
import { minutesUpTo } from "./cushion-messages.ts";

const unit = things.lentUnit;
const { minute, hour } = millisecondsIn;

describe("turns of boots under one name", () => {
  const began = 1_800_000_000_000;
  const spoken = (boot: number, startedAt: number, at: number): Spoken => ({
    boot,
    bootedAt: instant(began + startedAt),
    writtenAt: instant(began + at),
  });
  const turnsOf = (heard: readonly Spoken[]) => heard.reduce(heardSpeaking, noTurns);

  it("never look like two devices while one restarts as often as it likes, and sends what it wrote in any order", () => {
    const lives = fc.array(fc.array(fc.integer({ min: 10_000, max: 5 * minute }), { maxLength: 6 }), {
      minLength: 1,
      maxLength: 12,
    });
    fc.assert(
      fc.property(lives, fc.infiniteStream(fc.nat(3)), (boots, delays) => {
        let at = 0;
        const written = boots.flatMap((pauses, boot) => {
          at += 20_000;
          const startedAt = at;
          return [0, ...pauses].map((pause) => {
            at += pause;
            return spoken(boot, startedAt, at);
          });
        });
        const arrived = written
          .map((message, order) => ({ message, order: order + (delays.next().value ?? 0) }))
          .sort((a, b) => a.order - b.order)
          .map(({ message }) => message);
        expect(twoDevicesIn(turnsOf(arrived))).toBeNull();
      }),
    );
  });

  it("are two devices’ as soon as a boot has written on three times after another had", () => {
    const by = (count: number) =>
      turnsOf(
        Array.from({ length: count }, (_, at) => spoken(at % 2 ? 3 : 7, at % 2 ? 0 : -hour, at * minute)),
      );
    expect(twoDevicesIn(by(4))).toBeNull();
    expect(twoDevicesIn(by(5))?.map(({ boot }) => boot)).toEqual([7, 3]);
  });

  it("are two devices’ too where both count the same boots, since they began at different times", () => {
    const turns = Array.from({ length: 6 }, (_, at) => spoken(7, at % 2 ? 0 : -hour, at * minute));
    expect(twoDevicesIn(turnsOf(turns))).not.toBeNull();
  });
});

describe("two devices with one certificate", () => {
  let rig: BrokerRig;
  let credentials: UnitCredentials;
  const open: MqttClient[] = [];

  beforeEach(async () => {
    rig = await brokerRig();
    credentials = await rig.credentialsFor(unit);
  });
  afterEach(async () => {
    for (const client of open.splice(0)) client.end(true);
    await rig.stop();
  });

  /** Connects, which pushes whoever is there off, and tells of its last minute. */
  async function takesItsTurn(boot: number, bootedAt: Instant, sequence: number): Promise<void> {
    rig.services.clock.move(minute);
    const client = await connectUnit(rig.broker.port, credentials);
    open.push(client);
    const uptime = Math.round((rig.services.clock.now() - bootedAt) / 1_000);
    const message = minutesUpTo({ unit, boot, sequence, uptime, bootedAt }, 1);
    const bytes = Buffer.from(encodeUplink(message));
    await client.publishAsync(uplinkTopic(unit, "minutes"), bytes, { qos: 1 });
  }
  const findings = () => openFindingsOf(rig.services.db, unit).filter(({ kind }) => kind === "two-devices");

  it("are a finding of the unit as soon as they have taken turns, and until they have been quiet for a day", async () => {
    const now = rig.services.clock.now();
    const [one, other] = [instant(now - 5 * hour), instant(now - hour)];
    for (let turn = 0; turn < 3; turn++) {
      expect(findings()).toEqual([]);
      await takesItsTurn(7, one, turn);
      await takesItsTurn(3, other, turn);
    }
    expect(findings()).toMatchObject([{ level: "act-soon", judgement: null }]);
    expect(findings()[0]?.sentence).toContain("boot 7 and boot 3");
    rig.services.clock.move(23 * hour);
    expect(clearTwoDevices(rig.services)).toEqual([]);
    rig.services.clock.move(2 * hour);
    expect(clearTwoDevices(rig.services)).toEqual([unit]);
    expect(findings()).toEqual([]);
  });
});
