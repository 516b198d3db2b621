import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { BootAnchors } from "./telemetry-anchors.ts";
import { MessageBlocks } from "./telemetry-blocks.ts";
import { HeardLately } from "./telemetry-heard.ts";
import { RecentMessages } from "./telemetry-recent.ts";
import { SettledSequences } from "./telemetry-settled.ts";
import { prepareStatements, type TelemetryStatements } from "./telemetry-statements.ts";

/** The telemetry tables of one connection, with what is remembered of them so that storing a message asks nothing. */
export interface TelemetryTables {
  readonly statements: TelemetryStatements;
  readonly recent: RecentMessages;
  readonly blocks: MessageBlocks;
  readonly settled: SettledSequences;
  readonly anchors: BootAnchors;
  readonly heard: HeardLately;
}

export function openTables(driver: Sqlite.Database): TelemetryTables {
  const recent = new RecentMessages(driver);
  const statements = prepareStatements(driver);
  return {
    statements,
    recent,
    blocks: new MessageBlocks(driver),
    settled: new SettledSequences(statements),
    anchors: new BootAnchors(statements),
    heard: new HeardLately(statements),
  };
}

/** After a transaction that failed: what was remembered within it may not be so. */
export function forgetRemembered({ settled, anchors, blocks, heard }: TelemetryTables): void {
  settled.forget();
  anchors.forget();
  blocks.forgetOpened();
  heard.failed();
}

/** End of a unit's newest placed record. */
export function lastRecordedOf({ statements, blocks }: TelemetryTables, unit: UnitSerial): Instant | null {
  const latest = statements.lastRecorded.get(unit) ?? null;
  const packed = blocks.lastRecorded(unit);
  return latest === null || (packed !== null && packed > latest) ? packed : latest;
}
