import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { OpenDatabase } from "./database.ts";
import { type Appended, appendBatch } from "./telemetry-append.ts";
import { asideNowReadable, dropAsideOnRecord } from "./telemetry-aside.ts";
import { appendApart, isOneMessagesFault } from "./telemetry-isolate.ts";
import { LostReports } from "./telemetry-lost.ts";
import { TelemetryNews } from "./telemetry-news.ts";
import { Packing } from "./telemetry-packing.ts";
import type { AppendOutcome, AsideNowReadable, IncomingMessage, TelemetryStore } from "./telemetry-port.ts";
import { readHoles, readRecord } from "./telemetry-read.ts";
import { forgetRemembered, lastRecordedOf, openTables } from "./telemetry-tables.ts";

/** How long a unit's last sign of life may wait to be written down when nothing else is. */
const heardLatest = 10_000;

/** Telemetry in the registry's own SQLite file: raw prepared statements, one transaction a batch. */
export function createTelemetryStore({ driver }: OpenDatabase): TelemetryStore {
  const tables = openTables(driver);
  const { statements, recent, heard } = tables;
  const news = new TelemetryNews(statements);
  const lostReports = new LostReports(tables);
  const packing = new Packing(driver, tables);
  const inTransaction = driver.transaction((batch: readonly IncomingMessage[]) => appendBatch(tables, batch));
  const apartInTransaction = driver.transaction((batch: readonly IncomingMessage[]) =>
    // Within a transaction the driver makes the inner one a savepoint.
    appendApart(tables, batch, (message) => inTransaction([message])),
  );

  const dropAside = driver.transaction((taken: AsideNowReadable["readable"]) =>
    dropAsideOnRecord(tables, taken),
  );

  // `immediate` takes the write lock at once, so that a busy file is waited for and not refused half way.
  const commit = (batch: readonly IncomingMessage[]): Appended => {
    try {
      return inTransaction.immediate(batch);
    } catch (fault) {
      forgetRemembered(tables);
      if (!isOneMessagesFault(fault)) throw fault;
    }
    try {
      return apartInTransaction.immediate(batch);
    } catch (fault) {
      forgetRemembered(tables);
      throw fault;
    }
  };

  let heardTimer: NodeJS.Timeout | null = null;
  const writeHeardLater = (): void => {
    if (heard.waiting === 0 || heardTimer !== null) return;
    heardTimer = setTimeout(() => {
      heardTimer = null;
      if (!driver.open || heard.waiting === 0) return;
      try {
        driver.transaction(() => heard.writeAll(0)).immediate();
        heard.committed();
      } catch {
        // The next commit writes it, or says what is wrong.
        heard.failed();
      }
    }, heardLatest).unref();
  };

  const append = async (batch: readonly IncomingMessage[]): Promise<AppendOutcome> => {
    const appended = commit(batch);
    heard.committed();
    writeHeardLater();
    const throughMessage = statements.newestMessage.get() ?? 0;
    recent.knownThrough(throughMessage);
    for (const { unit, earliest, ids } of appended.news) {
      news.add(unit, { throughMessage, earliest });
      packing.stored(unit, ids);
    }
    for (const unit of appended.lostReportedBy) lostReports.changed(unit);
    return appended.outcome;
  };

  return {
    append,
    read: async (unit, span, knownBy) => readRecord(tables, lostReports, unit, span, knownBy),
    holes: async (unit, span) => readHoles(tables, lostReports, unit, span),
    unreviewed: async () => news.all(),
    unreviewedOf: async (unit) => news.of(unit),
    lastRecordedAt: async (units) => {
      const latest = new Map<UnitSerial, Instant>();
      for (const unit of units) {
        const at = lastRecordedOf(tables, unit);
        if (at !== null) latest.set(unit, at);
      }
      return latest;
    },
    keptAside: async () => statements.asideCounts.all(),
    asideNowReadable: async (after, limit) => asideNowReadable(tables, after, limit),
    dropAsideOnRecord: async (taken) => dropAside.immediate(taken),
    tidy: async (now, forMilliseconds) => {
      const until = performance.now() + forMilliseconds;
      return packing.work(now, () => performance.now() < until);
    },
  };
}
