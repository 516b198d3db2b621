import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { instant } from "../../server/domain/units.ts";
import { openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { fileOfVersion } from "../support/old-file.ts";
import { cushion, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const messages = [
  hello({ uptime: 1 }),
  ...[1, 2, 4].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
].map((message) => incoming(message));

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "old-file-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A file as the first version left it: its tables, and rows written with its own statements. */
function oldFile(): void {
  const driver = fileOfVersion(folder, 1);
  const insert = driver.prepare(
    `insert into message (unit_serial, boot, sequence, kind, received_at, uptime_seconds, starts_at, ends_at, payload)
     values (?, 1, ?, ?, ?, ?, ?, ?, ?)`,
  );
  const rows = [
    [0, "hello", 1, 1_000, 1_000],
    [1, "minutes", 900, 0, 900_000],
    [2, "minutes", 1_800, 900_000, 1_800_000],
    [4, "minutes", 3_600, 2_700_000, 3_600_000],
  ] as const;
  for (const [at, [sequence, kind, uptime, start, end]] of rows.entries()) {
    const { receivedAt, payload } = messages[at] ?? { receivedAt: 0, payload: new Uint8Array() };
    insert.run(cushion, sequence, kind, receivedAt, uptime, switchedOn + start, switchedOn + end, payload);
  }
  driver.exec(`insert into stored_range values ('${cushion}', 1, 0, 2), ('${cushion}', 1, 4, 4);
    insert into boot_anchor values ('${cushion}', 1, ${switchedOn}, 3, 'clock');
    insert into review_mark values ('${cushion}', 2, 0)`);
  driver.close();
}

it("a file of the first version opens with its record, its receipts, its news, and packs like any other", async () => {
  oldFile();
  const reference = createTelemetryStore(openDatabase(join(folder, "new")));
  await reference.append(messages);
  const database = openDatabase(folder);
  const store = createTelemetryStore(database);
  const read = await store.read(cushion, everything);
  expect(read).toEqual(await reference.read(cushion, everything));
  expect(read.minutes).toHaveLength(45);
  expect(read.holes).toHaveLength(1);
  expect(await store.unreviewed()).toEqual([
    { unit: cushion, earliest: switchedOn + 900_000, throughMessage: 4 },
  ]);
  const resent = await store.append(messages);
  expect(resent).toMatchObject({ stored: 0, duplicates: 4, keptAside: 0 });
  expect(resent.receipts.get(cushion)).toEqual([{ boot: 1, through: 4, holes: [[3, 3]] }]);
  while (await store.tidy(instant(switchedOn + 30 * 86_400_000), 1_000));
  expect(database.driver.prepare("select messages from message_block").pluck().all()).toEqual([4]);
  database.close();

  const reopened = openDatabase(folder);
  const again = createTelemetryStore(reopened);
  expect(await again.read(cushion, everything)).toEqual(read);
  expect(await again.append(messages)).toMatchObject({ stored: 0, duplicates: 4, keptAside: 0 });
  reopened.close();
});
