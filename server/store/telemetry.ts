import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { OpenDatabase } from "./database.ts";
import { type Appended, appendBatch } from "./telemetry-append.ts";
import { appendApart, isOneMessagesFault } from "./telemetry-isolate.ts";
import { LostReports } from "./telemetry-lost.ts";
import { TelemetryNews } from "./telemetry-news.ts";
import type { AppendOutcome, IncomingMessage, TelemetryStore } from "./telemetry-port.ts";
import { readRecord } from "./telemetry-read.ts";
import { prepareStatements } from "./telemetry-statements.ts";

/** Telemetry in the registry's own SQLite file: raw prepared statements, one transaction a batch. */
export function createTelemetryStore({ driver }: OpenDatabase): TelemetryStore {
  const statements = prepareStatements(driver);
  const news = new TelemetryNews(statements);
  const lostReports = new LostReports(statements);
  const inTransaction = driver.transaction((batch: readonly IncomingMessage[]) =>
    appendBatch(statements, batch),
  );
  const apartInTransaction = driver.transaction((batch: readonly IncomingMessage[]) =>
    // Within a transaction the driver makes the inner one a savepoint.
    appendApart(statements, batch, (message) => inTransaction([message])),
  );

  // `immediate` takes the write lock at once, so that a busy file is waited for and not refused half way.
  const commit = (batch: readonly IncomingMessage[]): Appended => {
    try {
      return inTransaction.immediate(batch);
    } catch (fault) {
      if (!isOneMessagesFault(fault)) throw fault;
      return apartInTransaction.immediate(batch);
    }
  };

  const append = async (batch: readonly IncomingMessage[]): Promise<AppendOutcome> => {
    const appended = commit(batch);
    const throughMessage = statements.newestMessage.get() ?? 0;
    for (const { unit, earliest } of appended.news) news.add(unit, { throughMessage, earliest });
    for (const unit of appended.lostReportedBy) lostReports.changed(unit);
    return appended.outcome;
  };

  return {
    append,
    read: async (unit, span, knownBy) => readRecord(statements, lostReports, unit, span, knownBy),
    unreviewed: async () => news.all(),
    lastRecordedAt: async (units) => {
      const latest = new Map<UnitSerial, Instant>();
      for (const unit of units) {
        const at = statements.lastRecorded.get(unit);
        if (at !== undefined && at !== null) latest.set(unit, at);
      }
      return latest;
    },
    keptAside: async () => statements.asideCounts.all(),
  };
}
