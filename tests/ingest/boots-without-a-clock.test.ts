import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { instant } from "../../server/domain/units.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { cushion, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

const hour = 3_600_000;
const span = { start: instant(switchedOn - 40 * 24 * hour), end: instant(switchedOn + 40 * 24 * hour) };

let folder: string | null = null;
let database: OpenDatabase;

function close(): void {
  if (folder === null) return;
  database.close();
  rmSync(folder, { recursive: true, force: true });
  folder = null;
}
function openAfresh(): void {
  close();
  folder = mkdtempSync(join(tmpdir(), "no-clock-"));
  database = openDatabase(folder);
}
beforeEach(openAfresh);
afterEach(close);

interface Lived {
  readonly boot: number;
  /** Hours after the first boot. */
  readonly from: number;
  readonly hours: number;
  readonly hasClock: boolean;
}

const bootedAt = ({ from }: Lived): number => switchedOn + from * hour;

function messagesOf(lived: Lived, arrival: number): IncomingMessage[] {
  const { boot, hours, hasClock } = lived;
  const uptime = hours * 3_600;
  const clock = { bootedAt: bootedAt(lived), ...(hasClock ? {} : { wall: null }) };
  return [
    incoming(hello({ boot, uptime: 1, ...clock }), instant(arrival)),
    incoming(minutesUpTo({ boot, sequence: 1, uptime, ...clock }, hours * 60), instant(arrival)),
  ];
}

/** A clock, then two boots whose clocks were never set, then a clock; all of it sent when the relay is back. */
const fourBoots = fc
  .tuple(
    ...Array.from({ length: 4 }, () =>
      fc.record({ off: fc.integer({ min: 0, max: 9 }), hours: fc.integer({ min: 1, max: 12 }) }),
    ),
  )
  .map((stretches) => {
    let from = 0;
    return stretches.map(({ off, hours }, at): Lived => {
      const lived = { boot: at + 1, from: from + off, hours, hasClock: at === 0 || at === 3 };
      from = lived.from + hours;
      return lived;
    });
  });

describe("two boots with no wall clock at all, between two with one", () => {
  it("lie between the last record placed before and the first after, within the error that is told, in any order of arrival", async () => {
    await fc.assert(
      fc.asyncProperty(
        fourBoots,
        fc.shuffledSubarray([0, 1, 2, 3], { minLength: 4 }),
        async (boots, order) => {
          openAfresh();
          const store = createTelemetryStore(database);
          const last = boots.at(-1);
          const arrival = (last ? bootedAt(last) : 0) + 200 * hour;
          for (const place of order) {
            const lived = boots[place];
            if (lived) await store.append(messagesOf(lived, arrival));
          }
          const record = await store.read(cushion, span);
          const next = boots[3];
          const before = boots[0];
          for (const lived of boots.filter(({ hasClock }) => !hasClock)) {
            const told = record.boots.find(({ boot }) => boot === lived.boot);
            const within = told?.placedWithin;
            if (told === undefined || within === undefined) throw new Error("not said to be unsure");
            const truth = bootedAt(lived);
            // Never later than it is shown, never earlier than the error allows; three seconds are the clocks' rounding.
            expect(truth).toBeLessThanOrEqual(told.at + 3_000);
            expect(truth).toBeGreaterThanOrEqual(told.at - within * 1_000 - 3_000);
            if (next) expect(told.at + lived.hours * hour).toBeLessThanOrEqual(bootedAt(next) + 3_000);
            const earliest = told.at - within * 1_000;
            if (before)
              expect(earliest).toBeGreaterThanOrEqual(bootedAt(before) + before.hours * hour - 63_000);
          }
          const clocked = record.boots.filter(({ boot }) => boot === 1 || boot === 4);
          expect(clocked.map(({ placedWithin }) => placedWithin)).toEqual([undefined, undefined]);
          expect(record.minutes).toHaveLength(boots.reduce((sum, { hours }) => sum + hours * 60, 0));
        },
      ),
      { numRuns: 25 },
    );
  });

  it("are bounded on one side alone where nothing came after, and that is said by the error", async () => {
    const store = createTelemetryStore(database);
    const alone: Lived = { boot: 1, from: 0, hours: 2, hasClock: false };
    await store.append(messagesOf(alone, switchedOn + 50 * hour));
    const [boot] = (await store.read(cushion, span)).boots;
    expect(boot?.at).toBe(switchedOn + 48 * hour);
    expect(boot?.placedWithin).toBe(30 * 24 * 3_600);
  });
});
