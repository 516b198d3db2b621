import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";

export interface AsideRow {
  readonly id: number;
  readonly unit: UnitSerial;
  readonly topic: string;
  readonly receivedAt: Instant;
  readonly payload: Uint8Array;
}

/** What came from a unit and could not be taken in is kept as it came, once, with the clause that refused it. */
export function keepingAside(driver: Sqlite.Database) {
  return {
    keepAside: driver.prepare<[UnitSerial, string, Instant, string, string, string, Uint8Array]>(
      `insert into kept_aside (unit_serial, topic, received_at, clause, reason, digest, times, payload)
       values (?, ?, ?, ?, ?, ?, 1, ?)
       on conflict (unit_serial, digest) do update set
         times = times + 1, clause = excluded.clause, reason = excluded.reason`,
    ),
    dropAside: driver.prepare<[number]>("delete from kept_aside where id = ?"),
    /** A name taken by other bytes stays taken: those are not looked at again. */
    asideAfter: driver.prepare<[number, number], AsideRow>(
      `select id, unit_serial as unit, topic, received_at as receivedAt, payload
       from kept_aside where id > ? and clause <> 'FP-4.5' order by id limit ?`,
    ),
    asideCounts: driver.prepare<
      [],
      { unit: UnitSerial; messages: number; lastReason: string; lastAt: Instant }
    >(
      // With max() alone among plain columns SQLite takes the others from that same row.
      `select unit_serial as unit, count(*) as messages, reason as lastReason, max(received_at) as lastAt
       from kept_aside group by unit_serial order by unit_serial`,
    ),
    asideOf: driver
      .prepare<[UnitSerial, number], Buffer>(
        "select payload from kept_aside where unit_serial = ? and received_at <= ?",
      )
      .pluck(),
  };
}
