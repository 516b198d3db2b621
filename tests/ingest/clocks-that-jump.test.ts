import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { DownlinkMessage, Receipt } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { systemClock } from "../../server/clock.ts";
import { instant } from "../../server/domain/units.ts";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, connectUnit, downlinkOf } from "./broker-rig.ts";
import { hello, minutesUpTo } from "./cushion-messages.ts";

const unit = things.lentUnit;
const always = { start: instant(0), end: instant(4_102_444_800_000) };
const [second, minute, hour, day] = [1, 60, 3_600, 86_400];
/** A minute is placed by whole seconds of two clocks. */
const rounding = 3_000;

let rig: BrokerRig;
let client: MqttClient;
let receiptFor: (boot: number, sequence: number) => Promise<Receipt>;
/** Seconds since the test began, and how far the server's clock is off. */
let truth = 0;
let serverOff = 0;
let began = 0;

beforeEach(async () => {
  rig = await brokerRig();
  [truth, serverOff, began] = [0, 0, Math.floor(systemClock.now() / 60_000) * minute];
  pass(0);
  client = await connectUnit(rig.broker.port, await rig.credentialsFor(unit));
  const downlink = await downlinkOf(client, unit);
  receiptFor = (boot, sequence) =>
    downlink.next(
      (message: DownlinkMessage): message is Receipt =>
        message.kind === "receipt" &&
        message.stored.some((each) => each.boot === boot && each.through >= sequence),
    );
});
afterEach(async () => {
  client.end(true);
  await rig.stop();
});

const truthNow = (): number => began + truth;
function pass(seconds: number): void {
  truth += seconds;
  rig.services.clock.set(instant((truthNow() + serverOff) * 1_000));
}
function setServer(off: number): void {
  serverOff = off;
  pass(0);
}

/** A unit that counts from its boot on and sets its clock by each receipt, as the protocol asks. */
class ClockedUnit {
  boot = 0;
  #bootedAt = 0;
  #sequence = 0;
  /** Seconds it is off the truth; null: not set. */
  clockOff: number | null = 0;
  readonly #waiting: UplinkMessage[] = [];
  readonly written: { readonly boot: number; readonly minuteStarts: number }[] = [];

  start(): void {
    this.boot += 1;
    [this.#bootedAt, this.#sequence] = [truthNow(), 0];
    this.#waiting.push(hello(this.#envelope()));
  }

  #envelope() {
    const wall = this.clockOff === null ? null : truthNow() + this.clockOff;
    return { unit, boot: this.boot, sequence: this.#sequence++, uptime: truthNow() - this.#bootedAt, wall };
  }

  /** Lives for so many minutes and writes them down. */
  live(minutes: number): this {
    for (let each = 0; each < minutes; each++)
      this.written.push({ boot: this.boot, minuteStarts: truthNow() + each * minute });
    pass(minutes * minute);
    this.#waiting.push(minutesUpTo(this.#envelope(), minutes));
    return this;
  }

  /** Sends all that waits, and goes on only with the receipt. */
  async send(): Promise<void> {
    const waiting = this.#waiting.splice(0);
    for (const message of waiting)
      await client.publishAsync(uplinkTopic(unit, message.kind), Buffer.from(encodeUplink(message)), {
        qos: 1,
      });
    for (const { boot, sequence } of waiting.slice(-1)) {
      const receipt = await receiptFor(boot, sequence);
      this.clockOff = receipt.serverUnixSeconds - truthNow();
    }
  }
}

async function placed(boot: number) {
  const record = await rig.services.telemetry.read(unit, always);
  const minutes = record.minutes.filter((each) => each.boot === boot).map(({ at }) => at);
  return { minutes, told: record.boots.find((each) => each.boot === boot) };
}

/** Every minute of the boot is there once, and within `rounding` of when it was lived. */
async function expectInPlace(cushion: ClockedUnit, boot = cushion.boot): Promise<void> {
  const { minutes, told } = await placed(boot);
  const lived = cushion.written.filter((each) => each.boot === boot);
  expect(minutes).toHaveLength(lived.length);
  const off = minutes.map((at, index) => at - (lived[index]?.minuteStarts ?? 0) * 1_000);
  expect(Math.max(...off.map(Math.abs))).toBeLessThanOrEqual(rounding);
  expect(told?.placedWithin).toBeUndefined();
}

describe("a unit's clock that jumps within a boot", () => {
  it("forward: what it then claims came before it can have been written, and is placed by the uptime", async () => {
    const cushion = new ClockedUnit();
    cushion.start();
    await cushion.live(10).send();
    cushion.clockOff = 5 * hour;
    await cushion.live(10).send();
    await expectInPlace(cushion);
  });

  it("forward while out of reach: its record lies wrong until it is back in touch, and right from then on", async () => {
    const cushion = new ClockedUnit();
    cushion.start();
    await cushion.live(10).send();
    cushion.clockOff = 5 * hour;
    cushion.live(60);
    pass(7 * hour);
    await cushion.send();
    await cushion.live(5).send();
    await expectInPlace(cushion);
  });

  it("back: believed only until its next receipt has set it", async () => {
    const cushion = new ClockedUnit();
    cushion.start();
    await cushion.live(10).send();
    cushion.clockOff = -3 * day;
    await cushion.live(10).send();
    await cushion.live(10).send();
    await expectInPlace(cushion);
  });
});

describe("a unit without a clock", () => {
  it("that starts in 1970 is placed by its arrival, and is said to be so until a receipt has set its clock", async () => {
    const cushion = new ClockedUnit();
    cushion.clockOff = 5 * second - truthNow();
    cushion.start();
    await cushion.live(10).send();
    const { minutes, told } = await placed(1);
    expect(minutes).toHaveLength(10);
    expect(told?.placedWithin).toBeGreaterThan(0);
    await cushion.live(10).send();
    await expectInPlace(cushion);
  });

  it("for two boots on end has both between the boots with a clock, each with how much earlier it may have been", async () => {
    const cushion = new ClockedUnit();
    cushion.start();
    await cushion.live(30).send();
    const clockDied = truthNow();
    for (const pause of [2 * hour, 3 * hour]) {
      pass(pause);
      cushion.start();
      cushion.clockOff = null;
      cushion.live(45);
    }
    pass(4 * hour);
    cushion.start();
    cushion.clockOff = 0;
    const clockedAgain = truthNow();
    await cushion.live(10).send();
    for (const boot of [2, 3]) {
      const { minutes, told } = await placed(boot);
      const lived = cushion.written.filter((each) => each.boot === boot);
      const within = told?.placedWithin ?? 0;
      expect(minutes).toHaveLength(45);
      for (const [index, at] of minutes.entries()) {
        const really = (lived[index]?.minuteStarts ?? 0) * 1_000;
        expect(really).toBeLessThanOrEqual(at + rounding);
        expect(really).toBeGreaterThanOrEqual(at - within * 1_000 - rounding);
        expect(at).toBeLessThan(clockedAgain * 1_000);
      }
      expect((told?.at ?? 0) - within * 1_000).toBeGreaterThanOrEqual(clockDied * 1_000 - rounding);
    }
    await expectInPlace(cushion, 1);
    await expectInPlace(cushion, 4);
  });
});

describe("the server's own clock", () => {
  it.each([
    ["back a day", -day],
    ["forward a day", day],
    ["back five minutes", -5 * minute],
    ["forward a month", 30 * day],
  ])(
    "set %s and right again an hour later: nothing is lost or counted twice, and all lies right with the unit's next word",
    async (_, off) => {
      const cushion = new ClockedUnit();
      cushion.start();
      for (let time = 0; time < 3; time++) await cushion.live(10).send();
      setServer(off);
      for (let time = 0; time < 6; time++) await cushion.live(10).send();
      setServer(0);
      await cushion.live(10).send();
      // Its clock followed ours there and back.
      for (let time = 0; time < 2; time++) await cushion.live(10).send();
      await expectInPlace(cushion);
      expect(rig.broker.counters()).toMatchObject({ duplicates: 0, keptAside: 0, failedCommits: 0 });
    },
  );

  it("set back a day does not move what was in place while the unit's clock still speaks for it", async () => {
    const cushion = new ClockedUnit();
    cushion.start();
    await cushion.live(10).send();
    setServer(-day);
    await cushion.live(10).send();
    await expectInPlace(cushion);
  });

  it("wrong while a boot began, and right before it ended: the boot lies right as soon as the unit has heard of it", async () => {
    for (const off of [-day, day]) {
      setServer(off);
      const cushion = new ClockedUnit();
      cushion.boot = off > 0 ? 20 : 10;
      cushion.clockOff = off;
      cushion.start();
      await cushion.live(10).send();
      setServer(0);
      for (let time = 0; time < 2; time++) await cushion.live(10).send();
      await expectInPlace(cushion);
    }
  });
});
