import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { Worker } from "node:worker_threads";
import Sqlite from "better-sqlite3";
import { sql } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { appendAudit } from "../../server/store/audit.ts";
import { openTelemetryThread } from "../../server/store/telemetry-thread.ts";
import { cast, type TestServices, testServices } from "../support/cast.ts";
import { hello, incoming, minutesUpTo } from "./cushion-messages.ts";

const root = join(import.meta.dirname, "..", "..");
const messages = Array.from({ length: 60 }, (_, sequence) =>
  incoming(sequence === 0 ? hello({ uptime: 1 }) : minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
);

let services: TestServices;
let other: Sqlite.Database;

beforeEach(() => {
  services = testServices();
  other = new Sqlite(join(services.dataFolder, "cushionry.sqlite"), { timeout: 0 });
});
afterEach(() => {
  other.close();
  services.close();
});

const readThenWrite = (driver: Pick<Sqlite.Database, "exec" | "prepare">): void => {
  driver.prepare("select count(*) from unit").get();
  driver.exec("update unit set last_heard_at = 1");
};

describe("the registry and the telemetry writer, two connections to one file", () => {
  it("would refuse each other where a transaction reads before it takes the lock", () => {
    const { driver } = services.database;
    driver.exec("begin deferred");
    driver.prepare("select count(*) from unit").get();
    readThenWrite(other);
    expect(() => driver.exec("update unit set last_heard_at = 2")).toThrow(
      expect.objectContaining({ code: "SQLITE_BUSY_SNAPSHOT" }),
    );
    driver.exec("rollback");
  });

  it("don't: every transaction of the registry has the lock from its beginning", () => {
    services.db.transaction((tx) => {
      tx.run(sql`select 1`);
      expect(() => readThenWrite(other)).toThrow(expect.objectContaining({ code: "SQLITE_BUSY" }));
      tx.run(sql`update unit set last_heard_at = 2`);
    });
    readThenWrite(other);
  });

  it("both get through when both are busy", async () => {
    const thread = await openTelemetryThread(services.database, services.dataFolder);
    const appended = messages.map((message) => thread.telemetry.append([message]));
    for (let turn = 0; turn < 60; turn++) {
      // Reads the entry before, and writes its own after it.
      services.db.transaction((tx) =>
        appendAudit(tx, {
          at: services.clock.now(),
          actor: { kind: "staff", id: cast.coordinator.id },
          action: "change-settings",
          subject: "settings",
          detail: { turn },
        }),
      );
      await Promise.resolve();
    }
    const outcomes = await Promise.all(appended);
    expect(outcomes.reduce((sum, { stored }) => sum + stored, 0)).toBe(messages.length);
    await thread.close();
    const audited = services.database.driver.prepare("select count(*) from audit").pluck().get();
    expect(audited).toBe(60);
  });

  it("are the only two kinds: no transaction is begun in any other way", () => {
    const begun = readdirSync(join(root, "server"), { recursive: true, encoding: "utf8" })
      .filter((file) => /\.tsx?$/.test(file))
      .filter((file) => {
        const text = readFileSync(join(root, "server", file), "utf8");
        return /driver\s*\.transaction\(|exec\(\s*["'`]\s*begin|\bdrizzle\(/i.test(text);
      });
    // `telemetry-thread.ts` only reads; the others begin theirs as `immediate`.
    expect(begun.sort()).toEqual([
      "store/database.ts",
      "store/telemetry-packing.ts",
      "store/telemetry-thread.ts",
      "store/telemetry.ts",
    ]);
    for (const file of ["store/telemetry-packing.ts", "store/telemetry.ts"]) {
      const text = readFileSync(join(root, "server", file), "utf8");
      expect(text.match(/\.immediate\(/g)?.length).toBeGreaterThan(0);
    }
  });
});

describe("a telemetry writer that has died", () => {
  it("is replaced: what it hadn't told of is refused, and stored when it is sent again", async () => {
    const threads: Worker[] = [];
    const deaths: string[] = [];
    const thread = await openTelemetryThread(services.database, services.dataFolder, {
      startThread: () => {
        const url = new URL("../../server/store/telemetry-writer-thread.mjs", import.meta.url);
        const started = new Worker(url, { workerData: services.dataFolder });
        threads.push(started);
        return started;
      },
      died: (why) => deaths.push(why.message),
    });
    const { telemetry } = thread;
    expect(await telemetry.append(messages.slice(0, 10))).toMatchObject({ stored: 10 });
    const [first] = threads;
    const lost = telemetry.append(messages.slice(10, 20)).then(
      () => "stored",
      () => "refused",
    );
    await first?.terminate();
    const told = await lost;
    expect(deaths).toEqual(["the telemetry writer has ended"]);
    const again = await telemetry.append(messages.slice(0, 20));
    // Whether the batch was committed before the end or not: nothing is lost, nothing is there twice.
    expect(again.stored + again.duplicates).toBe(20);
    if (told === "stored") expect(again.stored).toBe(0);
    expect(threads).toHaveLength(2);
    await thread.close();
    expect(deaths).toHaveLength(1);
  });
});
