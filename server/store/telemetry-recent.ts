import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";

const forgetEvery = 100_000;

/** Where the messages not packed yet are, by unit and name.
 *
 *  The table `message` grows at its end and has no index by unit: with ten thousand units each row would touch a page
 *  of its own in such an index, and a commit would write 4 kB for every 60 bytes it was asked to keep. So this index
 *  is a temporary table in memory, made again when the file is opened. It is part of each transaction like any other
 *  table, and can follow another connection that writes. */
export class RecentMessages {
  readonly #add: Sqlite.Statement<[number]>;
  readonly #newer: Sqlite.Statement<[number]>;
  readonly #forgetPacked: Sqlite.Statement<[UnitSerial, UnitSerial]>;
  readonly #newest: Sqlite.Statement<[], number | null>;
  readonly #forgetDeleted: Sqlite.Statement<[]>;
  #seen = 0;

  constructor(driver: Sqlite.Database) {
    driver.pragma("temp_store = memory");
    driver.exec(
      `create temp table if not exists recent (unit_serial text not null, boot integer not null,
         sequence integer not null, id integer not null, primary key (unit_serial, boot, sequence)) without rowid`,
    );
    this.#add = driver.prepare(
      `insert into temp.recent (unit_serial, boot, sequence, id)
       select unit_serial, boot, sequence, id from message where id >= ?`,
    );
    this.#newest = driver.prepare<[], number | null>("select max(id) from message").pluck();
    this.#newer = driver.prepare(
      `insert or ignore into temp.recent (unit_serial, boot, sequence, id)
       select unit_serial, boot, sequence, id from message m where id > ? and id > coalesce(
         (select max(last_id) from message_block b where b.unit_serial = m.unit_serial), 0)`,
    );
    this.#forgetDeleted = driver.prepare(
      "delete from temp.recent where id < coalesce((select min(id) from message), 0)",
    );
    this.#forgetPacked = driver.prepare(
      `delete from temp.recent where unit_serial = ? and id <= coalesce(
         (select max(last_id) from message_block where unit_serial = ?), 0)`,
    );
    this.catchUp();
  }

  /** What this transaction has inserted, from this row to the newest: all of them in one statement. */
  addFrom(id: number): void {
    this.#add.run(id);
  }

  /** Learns what another connection has stored; what this one stored it knows. */
  catchUp(): void {
    const newest = this.#newest.get() ?? 0;
    if (newest > this.#seen) this.#newer.run(this.#seen);
    // Now and then, for the units that nobody reads.
    if (Math.floor(newest / forgetEvery) !== Math.floor(this.#seen / forgetEvery)) this.#forgetDeleted.run();
    this.#seen = newest;
  }

  /** After a commit of this connection. */
  knownThrough(id: number): void {
    this.#seen = Math.max(this.#seen, id);
  }

  /** Call in the transaction that packed them, and before reading where another connection may have packed. */
  forgetPacked(unit: UnitSerial): void {
    this.#forgetPacked.run(unit, unit);
  }
}
