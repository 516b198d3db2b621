import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Sqlite from "better-sqlite3";

const forMilliseconds = 1_500;

/** Rows a second that SQLite itself takes: one table, no index, each commit durable.
 *  @param size rows a commit */
export function bareInsert({ size, bytes }: { readonly size: number; readonly bytes: number }): number {
  const folder = mkdtempSync(join(tmpdir(), "bench-bare-"));
  const driver = new Sqlite(join(folder, "bare.sqlite"));
  driver.pragma("journal_mode = WAL");
  driver.pragma("synchronous = FULL");
  driver.exec("create table row (id integer primary key, payload blob)");
  const insert = driver.prepare("insert into row (payload) values (?)");
  const payload = Buffer.alloc(bytes, 7);
  const commit = driver.transaction(() => {
    for (let row = 0; row < size; row++) insert.run(payload);
  });
  const began = performance.now();
  let rows = 0;
  while (performance.now() - began < forMilliseconds) {
    commit();
    rows += size;
  }
  const seconds = (performance.now() - began) / 1_000;
  driver.close();
  rmSync(folder, { recursive: true, force: true });
  return rows / seconds;
}
