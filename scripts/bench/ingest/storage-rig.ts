import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { UnitSerial } from "../../../server/domain/ids.ts";
import { type Instant, instant } from "../../../server/domain/units.ts";
import { type OpenDatabase, openDatabase } from "../../../server/store/database.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import type { IncomingMessage, TelemetryStore } from "../../../server/store/telemetry-port.ts";

/** A data folder of its own, with telemetry in it as the service keeps it: reviewed as it comes, tidied as it goes. */
export interface StorageRig {
  readonly folder: string;
  readonly database: OpenDatabase;
  readonly telemetry: TelemetryStore;
  /** Takes messages in, in the order given, and does what the service does meanwhile. */
  play(messages: readonly IncomingMessage[], batch?: number): Promise<void>;
  /** The file with everything in it, its log written back. */
  bytesOnDisk(): number;
  /** Of those, in pages that hold nothing now. */
  freeBytes(): number;
  remove(): void;
}

export async function storageRig(): Promise<StorageRig> {
  const folder = mkdtempSync(join(tmpdir(), "bench-storage-"));
  const database = openDatabase(folder);
  const telemetry = createTelemetryStore(database);
  const mark = database.driver.prepare(
    `insert into review_mark (unit_serial, through_message, reviewed_at) values (?, ?, 0)
     on conflict (unit_serial) do update set through_message = excluded.through_message`,
  );
  const markAll = database.driver.transaction((units: readonly [UnitSerial, number][]) => {
    for (const [unit, through] of units) mark.run(unit, through);
  });
  let marked: Instant = instant(0);
  const review = async (now: Instant): Promise<void> => {
    marked = now;
    const news = await telemetry.unreviewed();
    markAll(news.map(({ unit, throughMessage }) => [unit, throughMessage]));
  };
  return {
    folder,
    database,
    telemetry,
    play: async (messages, batch = 1_000) => {
      for (let from = 0; from < messages.length; from += batch) {
        const group = messages.slice(from, from + batch);
        await telemetry.append(group);
        const now = group.at(-1)?.receivedAt ?? marked;
        if (now - marked >= 60_000) await review(now);
        while (await telemetry.tidy(now, 50));
      }
    },
    bytesOnDisk: () => {
      database.driver.pragma("wal_checkpoint(TRUNCATE)");
      return ["cushionry.sqlite", "cushionry.sqlite-wal", "cushionry.sqlite-shm"]
        .map((name) => statSync(join(folder, name), { throwIfNoEntry: false })?.size ?? 0)
        .reduce((sum, size) => sum + size, 0);
    },
    freeBytes: () =>
      Number(database.driver.pragma("freelist_count", { simple: true })) *
      Number(database.driver.pragma("page_size", { simple: true })),
    remove: () => {
      database.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
