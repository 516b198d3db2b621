import { cpSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import Sqlite from "better-sqlite3";
import { drizzle } from "drizzle-orm/better-sqlite3";
import { migrate } from "drizzle-orm/better-sqlite3/migrator";

const migrations = join(import.meta.dirname, "../../server/store/migrations");

/** A data folder's file as an earlier version made it: with the first `count` migrations alone. Close what it returns. */
export function fileOfVersion(folder: string, count: number): Sqlite.Database {
  const earlier = join(folder, "earlier-migrations");
  cpSync(migrations, earlier, { recursive: true });
  const journalFile = join(earlier, "meta/_journal.json");
  const journal: { entries: unknown[] } = JSON.parse(readFileSync(journalFile, "utf8"));
  writeFileSync(journalFile, JSON.stringify({ ...journal, entries: journal.entries.slice(0, count) }));
  const driver = new Sqlite(join(folder, "cushionry.sqlite"));
  migrate(drizzle(driver), { migrationsFolder: earlier });
  return driver;
}
