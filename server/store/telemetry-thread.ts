import type { UnitSerial } from "../domain/ids.ts";
import type { Instant, Span } from "../domain/units.ts";
import type { OpenDatabase } from "./database.ts";
import { asideNowReadable, dropAsideOnRecord } from "./telemetry-aside.ts";
import { LostReports } from "./telemetry-lost.ts";
import type { AsideNowReadable, TelemetryStore } from "./telemetry-port.ts";
import { readHoles, readRecord } from "./telemetry-read.ts";
import { lastRecordedOf, openTables } from "./telemetry-tables.ts";
import { type WriterAnswer, type WriterRequest, wired } from "./telemetry-thread-wire.ts";
import { startWriter, type WriterOptions } from "./telemetry-writer.ts";

export interface TelemetryThread {
  readonly telemetry: TelemetryStore;
  /** What was appended is committed; after this nothing more can be. */
  close(): Promise<void>;
}

/** Telemetry as in `createTelemetryStore`, but written in a thread of its own, so that commits hold up neither pages nor
 *  connections. Reading stays on the connection that is given, and sees every commit that was told of.
 *
 *  Two connections write to the file then, which is why `openDatabase` begins every transaction as `immediate`. */
export async function openTelemetryThread(
  database: OpenDatabase,
  dataFolder: string,
  options: WriterOptions = {},
): Promise<TelemetryThread> {
  const writer = await startWriter(dataFolder, options);
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
  const holes = driver.transaction((unit: UnitSerial, span: Span) => {
    upToDate([unit]);
    return readHoles(tables, lostReports, unit, span);
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

  const dropAside = driver.transaction((taken: AsideNowReadable["readable"]) => {
    upToDate([...new Set(taken.map(({ incoming }) => incoming.unit))]);
    return dropAsideOnRecord(tables, taken);
  });

  const telemetry: TelemetryStore = {
    writesBeside: true,
    append: async (batch) => {
      const request: WriterRequest = { ask: "append", batch: wired(batch) };
      const made = await writer.ask(request, [request.batch.payloads.buffer]);
      return expected(made, "appended").outcome;
    },
    read: async (unit, span, knownBy) => read(unit, span, knownBy),
    holes: async (unit, span) => holes(unit, span),
    unreviewed: async () => expected(await writer.ask({ ask: "unreviewed", unit: null }), "unreviewed").units,
    unreviewedOf: async (unit) =>
      expected(await writer.ask({ ask: "unreviewed", unit }), "unreviewed").units[0] ?? null,
    lastRecordedAt: async (units) => lastRecorded(units),
    keptAside: async () => statements.asideCounts.all(),
    asideNowReadable: async (after, limit) => asideNowReadable(tables, after, limit),
    dropAsideOnRecord: async (taken) => dropAside.immediate(taken),
    tidy: async (now, forMilliseconds) =>
      expected(await writer.ask({ ask: "tidy", now, forMilliseconds }), "tidied").isMore,
  };
  return {
    telemetry,
    close: () => writer.close(),
  };
}

function expected<Kind extends WriterAnswer["answer"]>(
  made: WriterAnswer,
  kind: Kind,
): Extract<WriterAnswer, { answer: Kind }> {
  if (made.answer === "failed")
    throw Object.assign(new Error(made.reason), made.code === null ? {} : { code: made.code });
  if (!isOfKind(made, kind)) throw new Error(`the writer answered "${made.answer}" instead of "${kind}"`);
  return made;
}

const isOfKind = <Kind extends WriterAnswer["answer"]>(
  made: WriterAnswer,
  kind: Kind,
): made is Extract<WriterAnswer, { answer: Kind }> => made.answer === kind;
