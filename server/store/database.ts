import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import Sqlite from "better-sqlite3";
import { drizzle } from "drizzle-orm/better-sqlite3";
import { migrate } from "drizzle-orm/better-sqlite3/migrator";
import type { BaseSQLiteDatabase } from "drizzle-orm/sqlite-core";
import { checkFile, inWords, wantsChecking } from "./check-file.ts";
import { storageFaultOf } from "./storage-fault.ts";

/** The registry, inside or outside a transaction: a store function takes either. */
export type Database = BaseSQLiteDatabase<"sync", Sqlite.RunResult>;

export interface OpenDatabase {
  readonly db: Database;
  /** The driver itself, for the telemetry store's hot path and for checks. */
  readonly driver: Sqlite.Database;
  close(): void;
}

const migrationsFolder = join(dirname(fileURLToPath(import.meta.url)), "migrations");
const busyTimeoutMilliseconds = 5_000;

/** Opens (and brings up to date) the one database file of a data folder.
 *  @throws DataFolderError when the folder can't be written or the file is damaged or not ours: the caller says so and
 *  stops.
 *  @param how `again`: another connection of this process has the file open, and has looked through it */
export function openDatabase(dataFolder: string, how: { readonly again?: boolean } = {}): OpenDatabase {
  const file = join(dataFolder, "cushionry.sqlite");
  try {
    mkdirSync(dataFolder, { recursive: true, mode: 0o700 });
    return openFile(file, how.again !== true && wantsChecking(file));
  } catch (error) {
    throw inWords(error, dataFolder, file);
  }
}

function openFile(file: string, isToBeChecked: boolean): OpenDatabase {
  const driver = new Sqlite(file, { timeout: busyTimeoutMilliseconds });
  try {
    driver.pragma("journal_mode = WAL");
    // WAL falls back to NORMAL on reopening; only FULL survives a power cut with every acknowledged message.
    driver.pragma("synchronous = FULL");
    driver.pragma("foreign_keys = ON");
    if (isToBeChecked) checkFile(driver, file);
    const db = beginningImmediate(drizzle(driver));
    migrate(db, { migrationsFolder });
    return { db, driver, close: () => close(driver) };
  } catch (error) {
    driver.close();
    throw error;
  }
}

function close(driver: Sqlite.Database): void {
  try {
    driver.pragma("wal_checkpoint(TRUNCATE)");
  } catch (error) {
    // What is in the log stays there and is read again at the next start.
    if (storageFaultOf(error) === null) throw error;
  }
  driver.close();
}

/** Every transaction takes the write lock as it begins. One that reads first and writes later would be refused
 *  (SQLITE_BUSY_SNAPSHOT) whenever the telemetry writer, another connection, committed in between; one that begins so
 *  waits its turn. Here and not at each call, so that none can forget. */
function beginningImmediate<Db extends Database>(db: Db): Db {
  const begin = db.transaction.bind(db);
  const inConnection: typeof db.transaction = (work) =>
    begin(
      (tx) => {
        connections.set(tx, db);
        return work(tx);
      },
      { behavior: "immediate" },
    );
  db.transaction = inConnection;
  return db;
}

/** Of a transaction, the connection that it runs on. */
const connections = new WeakMap<Database, Database>();

/** A question asked of every unit each time its health is looked at, prepared once for each connection: to put its words
 *  together takes ten times as long as to answer it.
 *  @returns the prepared question, to be asked inside a transaction or outside of one */
export function preparedOnce<Question extends object>(
  prepare: (db: Database) => Question,
): (db: Database) => Question {
  const questions = new WeakMap<Database, Question>();
  return (db) => {
    const connection = connections.get(db) ?? db;
    const known = questions.get(connection);
    if (known !== undefined) return known;
    const question = prepare(connection);
    questions.set(connection, question);
    return question;
  };
}
