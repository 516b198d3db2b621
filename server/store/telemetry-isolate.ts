import Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import { type Appended, appendAside } from "./telemetry-append.ts";
import type { AppendOutcome, IncomingMessage, StoredUpTo } from "./telemetry-port.ts";
import { forgetRemembered, type TelemetryTables } from "./telemetry-tables.ts";
import { aside } from "./telemetry-triage.ts";

/** Whether one message can be to blame for a failed batch: a rule of the tables or a fault of ours, and not a disk that
 *  is full, a file that is locked or any other trouble that would meet every message alike. */
export function isOneMessagesFault(fault: unknown): boolean {
  return (
    !(fault instanceof Sqlite.SqliteError) || /^SQLITE_(CONSTRAINT|MISMATCH|TOOBIG|RANGE)/.test(fault.code)
  );
}

/** Stores a batch message by message, each in a savepoint of its own, and keeps aside the ones that can't be: a fault
 *  in one is no reason to hold up its neighbours, or to have the unit send it for ever. Call it inside a transaction.
 *  @param appendOne in a savepoint: throws with nothing of the message stored */
export function appendApart(
  tables: TelemetryTables,
  batch: readonly IncomingMessage[],
  appendOne: (message: IncomingMessage) => Appended,
): Appended {
  return batch
    .map((message) => {
      try {
        return appendOne(message);
      } catch (fault) {
        forgetRemembered(tables);
        if (!isOneMessagesFault(fault)) throw fault;
        const reason = fault instanceof Error ? fault.message : String(fault);
        return appendAside(tables, aside(message, null, "internal", `Could not be stored: ${reason}`));
      }
    })
    .reduce(together);
}

const together = (a: Appended, b: Appended): Appended => ({
  outcome: {
    stored: a.outcome.stored + b.outcome.stored,
    duplicates: a.outcome.duplicates + b.outcome.duplicates,
    keptAside: a.outcome.keptAside + b.outcome.keptAside,
    receipts: newestReceipts(a.outcome.receipts, b.outcome.receipts),
  },
  news: [...a.news, ...b.news],
  lostReportedBy: [...a.lostReportedBy, ...b.lostReportedBy],
});

function newestReceipts(
  earlier: AppendOutcome["receipts"],
  later: AppendOutcome["receipts"],
): Map<UnitSerial, readonly StoredUpTo[]> {
  const receipts = new Map(earlier);
  for (const [unit, boots] of later) {
    const renewed = new Set(boots.map(({ boot }) => boot));
    const others = (receipts.get(unit) ?? []).filter(({ boot }) => !renewed.has(boot));
    receipts.set(
      unit,
      [...others, ...boots].sort((a, b) => a.boot - b.boot),
    );
  }
  return receipts;
}
