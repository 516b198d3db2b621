import fc from "fast-check";
import { afterEach, describe, expect, it } from "vitest";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { instant } from "../../server/domain/units.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { cushion, fault, hello, incoming, minutesUpTo, switchedOn } from "../ingest/cushion-messages.ts";
import { type TestServices, testServices } from "../support/cast.ts";

const arrival = instant(switchedOn + 10 * 86_400_000);
const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const services: TestServices[] = [];

afterEach(() => {
  for (const each of services.splice(0)) each.close();
});

const freshStore = () => {
  const made = testServices({ empty: true });
  services.push(made);
  return made.telemetry;
};

/** Two boots: the first had no clock at first, the second lost messages and said so. */
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
];
const arrived = written.map((message) => incoming(message, arrival));

const inGroups = (messages: readonly IncomingMessage[], size: number): IncomingMessage[][] =>
  Array.from({ length: Math.ceil(messages.length / size) }, (_, group) =>
    messages.slice(group * size, (group + 1) * size),
  );

describe("the record of a unit", () => {
  it("is the same in whatever order, groups and repetitions its messages come", async () => {
    const inOrder = freshStore();
    await inOrder.append(arrived);
    const expected = await inOrder.read(cushion, everything);
    expect(expected.minutes).toHaveLength(9 * 15);
    expect(expected.holes.map(({ boot, fromSequence, fate }) => [boot, fromSequence, fate])).toEqual([
      [2, 1, "lost"],
      [2, 2, "awaited"],
    ]);
    const anyDelivery = fc
      .tuple(
        fc.shuffledSubarray([...arrived], { minLength: arrived.length }),
        fc.shuffledSubarray([...arrived]),
        fc.integer({ min: 1, max: 8 }),
      )
      .map(([all, resent, size]) => inGroups([...all, ...resent], size));
    await fc.assert(
      fc.asyncProperty(anyDelivery, async (groups) => {
        const store = freshStore();
        let stored = 0;
        for (const group of groups) stored += (await store.append(group)).stored;
        expect(stored).toBe(arrived.length);
        expect(await store.read(cushion, everything)).toEqual(expected);
        services.pop()?.close();
      }),
      { numRuns: 20 },
    );
  });

  it("takes no harm from whatever bytes come between its messages", async () => {
    const store = freshStore();
    const damaged = fc
      .tuple(
        fc.constantFrom(...arrived),
        fc.array(fc.tuple(fc.nat(), fc.nat(255)), { minLength: 1, maxLength: 4 }),
      )
      .map(([{ payload }, changes]) => {
        const bytes = Uint8Array.from(payload);
        for (const [at, value] of changes) bytes[at % bytes.length] = value;
        return bytes;
      });
    const hostile = fc.oneof(fc.uint8Array({ maxLength: 64 }), damaged);
    let sequence = 100;
    await fc.assert(
      fc.asyncProperty(fc.array(hostile, { maxLength: 6 }), async (payloads) => {
        const good = incoming(
          minutesUpTo({ boot: 9, sequence: sequence++, uptime: 600_000 + sequence * 60 }, 1),
          arrival,
        );
        const between = payloads.map((payload) => ({ ...good, payload }));
        const outcome = await store.append([...between.slice(0, 3), good, ...between.slice(3)]);
        expect(outcome.stored).toBeGreaterThanOrEqual(1);
        expect(outcome.stored + outcome.duplicates + outcome.keptAside).toBe(payloads.length + 1);
        const again = await store.append([good]);
        expect(again).toMatchObject({ stored: 0, duplicates: 1, keptAside: 0 });
      }),
      { numRuns: 150 },
    );
    await expect(store.read(cushion, everything)).resolves.toBeDefined();
  });
});
