import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { instant } from "../../server/domain/units.ts";
import { DataFolderError } from "../../server/store/check-file.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { cushion, incoming, minutesUpTo, switchedOn } from "../ingest/cushion-messages.ts";

const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const day = 86_400_000;
const name = "cushionry.sqlite";
/** SQLite's page here, and a sector, the piece in which disks write. */
const pageBytes = 4_096;
const sectorBytes = 512;

let root: string;
let folder: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), "torn-"));
  folder = join(root, "data");
});
afterEach(() => rmSync(root, { recursive: true, force: true }));

const hours = (from: number, to: number): IncomingMessage[] =>
  Array.from({ length: to - from }, (_, at) =>
    incoming(
      minutesUpTo({ sequence: from + at, uptime: (from + at + 1) * 3_600 }, 60),
      instant(switchedOn + 60 * day),
    ),
  );

const fileOf = (kept: string, end = ""): string => join(kept, `${name}${end}`);
const logOf = (kept: string): Buffer => readFileSync(fileOf(kept, "-wal"));

let copies = 0;
/** The folder as a power cut leaves it. */
function leftBehind(file: Buffer, log: Buffer | null): string {
  const copy = join(root, `copy-${copies++}`);
  mkdirSync(copy);
  writeFileSync(fileOf(copy), file);
  if (log !== null) writeFileSync(fileOf(copy, "-wal"), log);
  return copy;
}

async function sequencesIn(database: OpenDatabase): Promise<number> {
  expect(database.driver.pragma("quick_check", { simple: true })).toBe("ok");
  const { minutes, holes } = await createTelemetryStore(database).read(cushion, everything);
  expect([minutes.length % 60, holes]).toEqual([0, []]);
  return minutes.length / 60;
}

describe("a commit torn in the log", () => {
  it("is as if it had never begun, wherever it was torn: all acknowledged before is there, and a resend completes it", async () => {
    const database = openDatabase(folder);
    database.driver.pragma("wal_autocheckpoint = 0");
    const store = createTelemetryStore(database);
    for (const message of hours(0, 20)) await store.append([message]);
    const acknowledged = logOf(folder).length;
    await store.append(hours(20, 60));
    const [file, log] = [readFileSync(fileOf(folder)), logOf(folder)];
    database.close();
    const torn = fc.record({
      cutAt: fc.integer({ min: acknowledged, max: log.length - 1 }),
      /** What a disk may leave beyond: nothing, zeros, or what was there before. */
      beyond: fc.constantFrom("nothing", "zeros", "other bytes"),
    });
    await fc.assert(
      fc.asyncProperty(torn, async ({ cutAt, beyond }) => {
        const rest = log.length - cutAt;
        const end =
          beyond === "nothing" ? Buffer.alloc(0) : Buffer.alloc(rest, beyond === "zeros" ? 0 : 0xa5);
        // A page ends in zeros: what is left beyond may be what was to be written, and then nothing is torn.
        fc.pre(!end.equals(log.subarray(cutAt)));
        const copy = leftBehind(file, Buffer.concat([log.subarray(0, cutAt), end]));
        const again = openDatabase(copy);
        expect(await sequencesIn(again)).toBe(20);
        const resent = await createTelemetryStore(again).append(hours(15, 60));
        expect(resent).toMatchObject({ stored: 40, duplicates: 5 });
        expect(resent.receipts.get(cushion)).toEqual([{ boot: 1, through: 59, holes: [] }]);
        expect(await sequencesIn(again)).toBe(60);
        again.close();
      }),
      { numRuns: 10 },
    );
  });

  it("costs no more than what came after it, even in what the disk had said was safe", async () => {
    const database = openDatabase(folder);
    database.driver.pragma("wal_autocheckpoint = 0");
    const store = createTelemetryStore(database);
    const began = logOf(folder).length;
    const ends: number[] = [];
    for (const message of hours(0, 30)) {
      await store.append([message]);
      ends.push(logOf(folder).length);
    }
    const [file, log] = [readFileSync(fileOf(folder)), logOf(folder)];
    database.close();
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: began, max: log.length - sectorBytes }), async (at) => {
        const scribbled = Buffer.from(log);
        scribbled.fill(0x5a, at, at + sectorBytes);
        const again = openDatabase(leftBehind(file, scribbled));
        expect(await sequencesIn(again)).toBe(ends.filter((end) => end <= at).length);
        again.close();
      }),
      { numRuns: 10 },
    );
  });
});

describe("a data file torn where there is no log to mend it", () => {
  let packed: Buffer | null = null;
  async function packedFile(): Promise<Buffer> {
    if (packed !== null) return packed;
    const database = openDatabase(folder);
    const store = createTelemetryStore(database);
    for (let from = 0; from < 960; from += 240) await store.append(hours(from, from + 240));
    while (await store.tidy(instant(switchedOn + 90 * day), 1_000));
    database.driver.exec("delete from message");
    expect(await sequencesIn(database)).toBe(960);
    database.close();
    packed = readFileSync(fileOf(folder));
    return packed;
  }

  it.each([
    ["its last page is gone", (file: Buffer) => file.subarray(0, -pageBytes)],
    ["half of its last page is gone", (file: Buffer) => file.subarray(0, -pageBytes / 2)],
    [
      "a page of a table is not a page",
      (file: Buffer) => Buffer.from(file).fill(0x5a, pageBytes, 2 * pageBytes),
    ],
    ["its header is not ours", (file: Buffer) => Buffer.from(file).fill(0x5a, 0, 16)],
  ])("is refused with words when %s, and left as it is", async (_, tear) => {
    const torn = tear(await packedFile());
    const copy = leftBehind(torn, null);
    expect(() => openDatabase(copy)).toThrow(DataFolderError);
    expect(() => openDatabase(copy)).toThrow(/is damaged .* Put the newest backup in its place/);
    expect(Buffer.compare(readFileSync(fileOf(copy)), torn)).toBe(0);
  });

  it("never gives other minutes than were sent, whichever sector was scribbled over", async () => {
    const file = await packedFile();
    const reference = openDatabase(leftBehind(file, null));
    const expected = await createTelemetryStore(reference).read(cushion, everything);
    reference.close();
    let refused = 0;
    const sector = fc.integer({ min: 0, max: Math.floor(file.length / sectorBytes) - 1 });
    await fc.assert(
      fc.asyncProperty(
        sector,
        fc.uint8Array({ minLength: sectorBytes, maxLength: sectorBytes }),
        async (at, bytes) => {
          const scribbled = Buffer.from(file);
          scribbled.set(bytes, at * sectorBytes);
          const copy = leftBehind(scribbled, null);
          try {
            const database = openDatabase(copy);
            try {
              expect((await createTelemetryStore(database).read(cushion, everything)).minutes).toEqual(
                expected.minutes,
              );
            } finally {
              database.close();
            }
          } catch (error) {
            if (!(error instanceof Error) || error.name === "AssertionError") throw error;
            refused += 1;
          }
          rmSync(copy, { recursive: true, force: true });
        },
      ),
      { numRuns: 25 },
    );
    expect(refused).toBeGreaterThan(0);
  });
});
