import fc from "fast-check";
import { afterEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { MinuteRecord, Minutes, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { seatMinutesOf } from "../../server/domain/record/seat-minutes.ts";
import { instant } from "../../server/domain/units.ts";
import { bodyOf, open, pack, payloadOf } from "../../server/store/telemetry-block.ts";
import { messagesIn } from "../../server/store/telemetry-block-messages.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { type TestServices, testServices } from "../support/cast.ts";
import {
  cushion,
  envelope,
  fault,
  frame,
  hello,
  incoming,
  minutesUpTo,
  switchedOn,
} from "./cushion-messages.ts";

const arrival = instant(switchedOn + 10 * 86_400_000);
const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const opened: TestServices[] = [];

afterEach(() => {
  for (const each of opened.splice(0)) each.close();
});

function freshStore() {
  const services = testServices({ empty: true });
  opened.push(services);
  const { telemetry, database } = services;
  let now = arrival + 8 * 86_400_000;
  return {
    telemetry,
    database,
    /** So late that nothing is too new, or still waits for its review. */
    packAll: async () => {
      now += 2 * 3_600_000;
      while (await telemetry.tidy(instant(now), 1_000));
    },
  };
}

const count = ({ database }: ReturnType<typeof freshStore>, table: string): unknown =>
  database.driver.prepare(`select count(*) from ${table}`).pluck().get();

const minute: fc.Arbitrary<MinuteRecord> = fc.record({
  loaded: fc.boolean(),
  power: fc.constantFrom("on-battery", "charging", "charged"),
  loadHectograms: fc.integer({ min: 0, max: 5_000 }),
  centreRightPercent: fc.integer({ min: -100, max: 100 }),
  centreFrontPercent: fc.integer({ min: -100, max: 100 }),
  cellMillivolts: fc.integer({ min: 0, max: 6_000 }),
  temperatureDecicelsius: fc.integer({ min: -400, max: 1_250 }),
  signalDecibelMilliwatts: fc.option(fc.integer({ min: -140, max: 0 })),
});
const largestCount = 0xffff_ffff;
const minutesMessage: fc.Arbitrary<Minutes> = fc
  .record({
    sequence: fc.nat(largestCount),
    first: fc.nat(largestCount - 10_000),
    wallSeconds: fc.option(fc.nat(largestCount)),
    later: fc.nat(500),
    minutes: fc.array(minute, { minLength: 1, maxLength: 20 }),
  })
  .map(({ sequence, first, wallSeconds, later, minutes }) => ({
    kind: "minutes",
    unit: cushion,
    boot: 7,
    sequence,
    uptimeSeconds: first + 60 * minutes.length + later,
    wallSeconds,
    firstUptimeSeconds: first,
    minutes,
  }));
const anyBytes = fc.uint8Array({ maxLength: 200 });

describe("a packed block", () => {
  it("gives back every message byte for byte, whatever its bytes, with its times", () => {
    const payload = fc.oneof(
      { weight: 3, arbitrary: minutesMessage.map((message) => encodeUplink(message)) },
      anyBytes,
    );
    const message = fc.record({
      sequence: fc.nat(largestCount),
      receivedAt: fc.integer({ min: -8e12, max: 8e12 }),
      bootedAt: fc.integer({ min: -8e12, max: 8e12 }),
      payload,
    });
    const messages = fc.uniqueArray(message, { selector: ({ sequence }) => sequence, maxLength: 40 });
    fc.assert(
      fc.property(messages, fc.integer({ min: -8e12, max: 8e12 }), (given, base) => {
        const sorted = given
          .toSorted((a, b) => a.sequence - b.sequence)
          // A minutes message is kept as values only under the sequence that it names itself.
          .map(({ payload: bytes, ...rest }) => ({ ...rest, body: bodyOf(bytes), bytes }))
          .map((each) =>
            each.body.kind === "minutes" ? { ...each, sequence: each.body.message.sequence } : each,
          )
          .toSorted((a, b) => a.sequence - b.sequence);
        const out = messagesIn(open(pack(sorted, base), base), { unit: cushion, boot: 7 });
        expect(out.map(({ sequence, receivedAt, bootedAt }) => [sequence, receivedAt, bootedAt])).toEqual(
          sorted.map(({ sequence, receivedAt, bootedAt }) => [sequence, receivedAt, bootedAt]),
        );
        for (const [at, { body }] of out.entries())
          expect(Buffer.compare(payloadOf(body), sorted[at]?.bytes ?? Buffer.of(1))).toBe(0);
      }),
      { numRuns: 150 },
    );
  });

  it("keeps as bytes what encoding again would not give back, such as a field of a newer version", () => {
    const bytes = encodeUplink(minutesUpTo({ uptime: 600 }, 10));
    // One more entry in the map: key 64, value 0 ([FP-4.9]).
    const newer = Uint8Array.of((bytes[0] ?? 0) + 1, ...bytes.subarray(1), 0x18, 64, 0);
    expect(bodyOf(newer)).toEqual({ kind: "raw", holds: "other", payload: newer });
    expect(bodyOf(bytes).kind).toBe("minutes");
  });
});

/** Four boots: no clock at first, a loss reported, one never placed by a clock, and one that runs into a second day. */
const written: readonly UplinkMessage[] = [
  hello({ uptime: 2, wall: null }),
  ...[1, 2, 3, 4].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900, wall: null }, 15)),
  ...[5, 6, 7].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
  hello({ boot: 2, uptime: 2, bootedAt: switchedOn + 86_400_000 }),
  ...[3, 4].map((sequence) =>
    minutesUpTo({ boot: 2, sequence, uptime: sequence * 900, bootedAt: switchedOn + 86_400_000 }, 15),
  ),
  fault({ boot: 2, sequence: 5, uptime: 4_000, bootedAt: switchedOn + 86_400_000 }, "store-overrun", {
    boot: 2,
    fromSequence: 1,
    toSequence: 1,
  }),
  hello({ boot: 3, uptime: 2, wall: null }),
  minutesUpTo({ boot: 3, sequence: 1, uptime: 900, wall: null }, 15),
  ...[0, 2, 3].map((sequence) =>
    minutesUpTo(
      { boot: 4, sequence, uptime: 85_000 + sequence * 900, bootedAt: switchedOn + 4 * 86_400_000 },
      15,
    ),
  ),
  frame({ boot: 4, sequence: 4, uptime: 90_000, bootedAt: switchedOn + 4 * 86_400_000 }),
];
/** A minute apart, so that "as known by" means something. */
const arrived = written.map((message, at) => incoming(message, instant(arrival + at * 60_000)));

const inGroups = (messages: readonly IncomingMessage[], size: number): IncomingMessage[][] =>
  Array.from({ length: Math.ceil(messages.length / size) }, (_, group) =>
    messages.slice(group * size, (group + 1) * size),
  );

describe("packing", () => {
  it("changes nothing of what is read, receipted or told from a resend, whenever it happens", async () => {
    const delivery = fc.record({
      messages: fc.shuffledSubarray([...arrived], { minLength: arrived.length }),
      size: fc.integer({ min: 1, max: 8 }),
      packAfter: fc.array(fc.boolean(), { minLength: arrived.length, maxLength: arrived.length }),
    });
    await fc.assert(
      fc.asyncProperty(delivery, async ({ messages, size, packAfter }) => {
        const plain = freshStore();
        const packed = freshStore();
        for (const [at, group] of inGroups(messages, size).entries()) {
          expect(await packed.telemetry.append(group)).toEqual(await plain.telemetry.append(group));
          if (packAfter[at]) await packed.packAll();
          expect(await packed.telemetry.read(cushion, everything)).toEqual(
            await plain.telemetry.read(cushion, everything),
          );
        }
        await packed.packAll();
        expect([count(plain, "message_block"), count(packed, "temp.recent")]).toEqual([0, 0]);
        for (const known of [3, 9, 14].map((minutes) => instant(arrival + minutes * 60_000)))
          expect(await packed.telemetry.read(cushion, everything, known)).toEqual(
            await plain.telemetry.read(cushion, everything, known),
          );
        expect(await packed.telemetry.lastRecordedAt([cushion])).toEqual(
          await plain.telemetry.lastRecordedAt([cushion]),
        );
        expect(await packed.telemetry.append(arrived)).toEqual(await plain.telemetry.append(arrived));
        const clash = incoming(hello({ uptime: 2, wall: null }, "9.9.9"), arrival);
        expect(await packed.telemetry.append([clash])).toMatchObject({
          stored: 0,
          duplicates: 0,
          keptAside: 1,
        });
        for (const services of opened.splice(0)) services.close();
      }),
      { numRuns: 25 },
    );
  });

  it("gives the same minutes as columns and one by one, packed or not, where two boots fall on the same minutes too", async () => {
    const { telemetry, packAll } = freshStore();
    const day = 86_400_000;
    for (const boot of [1, 2]) {
      const sent = [
        hello({ boot, uptime: 1 }),
        minutesUpTo({ boot, sequence: 1, uptime: 7_230 }, 120),
        minutesUpTo({ boot, sequence: 2, uptime: 14_430 }, 120),
      ];
      await telemetry.append(sent.map((message) => incoming(message, instant(arrival + boot))));
    }
    const narrow = { start: instant(switchedOn + 30 * 60_000), end: instant(switchedOn + 3 * 3_600_000) };
    for (const packed of [false, true]) {
      if (packed) await packAll();
      for (const span of [everything, narrow, { start: instant(0), end: instant(day) }]) {
        const record = await telemetry.read(cushion, span);
        expect(record.seatMinutes).toEqual(seatMinutesOf(record.minutes));
        const { seatMinutes, ...named } = record;
        expect(seatMinutes?.at).toHaveLength(named.minutes.length);
        // A copy with other minutes must not speak of these.
        expect({ ...record, minutes: [] }.seatMinutes).toBeUndefined();
      }
    }
    expect((await telemetry.read(cushion, everything)).minutes.length).toBeGreaterThan(200);
  });

  it("moves a packed boot to its right place as soon as a clock speaks, and has it reviewed again", async () => {
    const store = freshStore();
    const at = (minutes: number) => instant(switchedOn + minutes * 60_000);
    await store.telemetry.append([incoming(minutesUpTo({ uptime: 600, wall: null }, 10), at(90))]);
    await store.packAll();
    const mark = (await store.telemetry.unreviewedOf(cushion))?.throughMessage ?? 0;
    store.database.driver
      .prepare("insert into review_mark (unit_serial, through_message, reviewed_at) values (?, ?, 0)")
      .run(cushion, mark);
    expect(await store.telemetry.unreviewed()).toEqual([]);
    await store.telemetry.append([incoming(hello({ sequence: 1, uptime: 5_400 }), at(90))]);
    expect((await store.telemetry.read(cushion, everything)).minutes[0]?.at).toBe(at(0));
    expect((await store.telemetry.unreviewedOf(cushion))?.earliest).toBe(at(0));
  });

  it("waits for the review, so that news stay exact across a restart", async () => {
    const store = freshStore();
    await store.telemetry.append(arrived);
    while (await store.telemetry.tidy(instant(arrival + 86_400_000), 1_000));
    expect(count(store, "message_block")).toBe(0);
    store.database.driver
      .prepare("insert into review_mark (unit_serial, through_message, reviewed_at) values (?, 6, 0)")
      .run(cushion);
    while (await store.telemetry.tidy(instant(arrival + 2 * 86_400_000), 1_000));
    expect(count(store, "temp.recent")).toBe(arrived.length - 6);
    expect(await store.telemetry.unreviewed()).toHaveLength(1);
  });

  it("takes the place of the rows: in time they are deleted, and the month reads the same", async () => {
    const store = freshStore();
    const single = (sequence: number) =>
      incoming({
        kind: "minutes",
        ...envelope({ sequence, uptime: 60 * (sequence + 1) }),
        firstUptimeSeconds: 60 * sequence,
        minutes: minutesUpTo({ uptime: 60 }, 1).minutes,
      });
    const messages = Array.from({ length: 9_000 }, (_, sequence) => single(sequence));
    for (const group of inGroups(messages, 1_000)) await store.telemetry.append(group);
    const before = await store.telemetry.read(cushion, everything);
    await store.packAll();
    expect(Number(count(store, "message"))).toBeLessThan(4_096);
    expect(count(store, "message_block")).toBe(7);
    expect(await store.telemetry.read(cushion, everything)).toEqual(before);
    expect(before.minutes).toHaveLength(9_000);
  });
});
