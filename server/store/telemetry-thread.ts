import { Worker } from "node:worker_threads";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { OpenDatabase } from "./database.ts";
import { LostReports } from "./telemetry-lost.ts";
import type { TelemetryStore } from "./telemetry-port.ts";
import { readRecord } from "./telemetry-read.ts";
import { lastRecordedOf, openTables } from "./telemetry-tables.ts";
import { type WriterAnswer, type WriterRequest, wired } from "./telemetry-thread-wire.ts";

export interface TelemetryThread {
  readonly telemetry: TelemetryStore;
  /** What was appended is committed; after this nothing more can be. */
  close(): Promise<void>;
}

/** Telemetry as in `createTelemetryStore`, but written in a thread of its own, so that commits hold up neither pages nor
 *  connections. Reading stays on the connection that is given, and sees every commit that was told of.
 *
 *  Two connections write to the file then: transactions of the registry that read before they write must begin as
 *  `immediate`, or SQLite refuses them when telemetry was committed in between (SQLITE_BUSY_SNAPSHOT). */
export async function openTelemetryThread(
  database: OpenDatabase,
  dataFolder: string,
): Promise<TelemetryThread> {
  const writer = await startWriter(dataFolder);
  const { driver } = database;
  const tables = openTables(driver);
  const lostReports = new LostReports(tables);
  const { recent, statements } = tables;

  const upToDate = (units: readonly UnitSerial[]): void => {
    recent.catchUp();
    for (const unit of units) {
      recent.forgetPacked(unit);
      lostReports.changed(unit);
    }
  };
  // In one transaction, so that what was packed meanwhile is seen either as rows or as a block.
  const read = driver.transaction((unit: UnitSerial, span: Span, knownBy: Instant | undefined) => {
    upToDate([unit]);
    return readRecord(tables, lostReports, unit, span, knownBy);
  });
  const lastRecorded = driver.transaction((units: readonly UnitSerial[]) => {
    upToDate(units);
    const latest = new Map<UnitSerial, Instant>();
    for (const unit of units) {
      const at = lastRecordedOf(tables, unit);
      if (at !== null) latest.set(unit, at);
    }
    return latest;
  });

  const telemetry: TelemetryStore = {
    writesBeside: true,
    append: async (batch) => {
      const request: WriterRequest = { ask: "append", batch: wired(batch) };
      const made = await writer.ask(request, [request.batch.payloads.buffer]);
      return expected(made, "appended").outcome;
    },
    read: async (unit, span, knownBy) => read(unit, span, knownBy),
    unreviewed: async () => expected(await writer.ask({ ask: "unreviewed", unit: null }), "unreviewed").units,
    unreviewedOf: async (unit) =>
      expected(await writer.ask({ ask: "unreviewed", unit }), "unreviewed").units[0] ?? null,
    lastRecordedAt: async (units) => lastRecorded(units),
    keptAside: async () => statements.asideCounts.all(),
    tidy: async (now, forMilliseconds) =>
      expected(await writer.ask({ ask: "tidy", now, forMilliseconds }), "tidied").isMore,
  };
  return {
    telemetry,
    close: async () => {
      expected(await writer.ask({ ask: "close" }), "closed");
      await writer.ended;
    },
  };
}

function expected<Kind extends WriterAnswer["answer"]>(
  made: WriterAnswer,
  kind: Kind,
): Extract<WriterAnswer, { answer: Kind }> {
  if (made.answer === "failed") throw new Error(made.reason);
  if (!isOfKind(made, kind)) throw new Error(`the writer answered "${made.answer}" instead of "${kind}"`);
  return made;
}

const isOfKind = <Kind extends WriterAnswer["answer"]>(
  made: WriterAnswer,
  kind: Kind,
): made is Extract<WriterAnswer, { answer: Kind }> => made.answer === kind;

interface Writer {
  ask(request: WriterRequest, handedOver?: readonly ArrayBuffer[]): Promise<WriterAnswer>;
  readonly ended: Promise<unknown>;
}

interface Waiting {
  resolve(answer: WriterAnswer): void;
  reject(error: Error): void;
}

async function startWriter(dataFolder: string): Promise<Writer> {
  const worker = new Worker(new URL("./telemetry-writer-thread.mjs", import.meta.url), {
    workerData: dataFolder,
    // What a batch makes is gone with the batch: with more room fewer of it are still alive at each collection.
    resourceLimits: { maxYoungGenerationSizeMb: 64 },
  });
  const waiting = new Map<number, Waiting>();
  let next = 1;
  let dead: Error | null = null;
  const fail = (error: Error): void => {
    dead = error;
    for (const { reject } of waiting.values()) reject(error);
    waiting.clear();
  };
  const ready = new Promise<void>((resolve, reject) => {
    waiting.set(0, { resolve: () => resolve(), reject });
  });
  const ended = new Promise<void>((resolve) => {
    worker.once("exit", () => {
      fail(dead ?? new Error("the telemetry writer has ended"));
      resolve();
    });
  });
  worker.on("error", fail);
  worker.on("message", ({ number, answer }: { number: number; answer: WriterAnswer }) => {
    waiting.get(number)?.resolve(answer);
    waiting.delete(number);
  });
  await ready;
  return {
    ended,
    ask: (request, handedOver = []) =>
      new Promise((resolve, reject) => {
        if (dead !== null) {
          reject(dead);
          return;
        }
        const number = next++;
        waiting.set(number, { resolve, reject });
        worker.postMessage({ number, request }, handedOver);
      }),
  };
}
