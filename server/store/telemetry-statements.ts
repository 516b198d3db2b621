import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";

export interface AnchorRow {
  readonly bootedAt: Instant;
  readonly errorSeconds: number;
  readonly basis: "clock" | "arrival";
}

export interface MessageRow {
  readonly id: number;
  readonly boot: number;
  readonly sequence: number;
  readonly receivedAt: Instant;
  readonly startsAt: Instant;
  readonly payload: Buffer;
}

export interface RangeRow {
  readonly boot: number;
  readonly from: number;
  readonly to: number;
}

export type TelemetryStatements = ReturnType<typeof prepareStatements>;

const messageColumns =
  "id, boot, sequence, received_at as receivedAt, starts_at as startsAt, payload" as const;

/** Every statement of the hot path, prepared once: raw ones cost a quarter of a query builder's. */
export function prepareStatements(driver: Sqlite.Database) {
  return { ...appending(driver), ...ranging(driver), ...reading(driver) };
}

function appending(driver: Sqlite.Database) {
  return {
    payloadNamed: driver
      .prepare<[UnitSerial, number, number], Buffer>(
        "select payload from message where unit_serial = ? and boot = ? and sequence = ?",
      )
      .pluck(),
    insertMessage: driver.prepare<
      [UnitSerial, number, number, string, Instant, number, Instant, Instant, Uint8Array]
    >(
      `insert into message
         (unit_serial, boot, sequence, kind, received_at, uptime_seconds, starts_at, ends_at, payload)
       values (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    ),
    keepAside: driver.prepare<[UnitSerial, string, Instant, string, string, string, Uint8Array]>(
      `insert into kept_aside (unit_serial, topic, received_at, clause, reason, digest, times, payload)
       values (?, ?, ?, ?, ?, ?, 1, ?)
       on conflict (unit_serial, digest) do update set times = times + 1`,
    ),
    anchorOf: driver.prepare<[UnitSerial, number], AnchorRow>(
      `select booted_at as bootedAt, error_seconds as errorSeconds, basis
       from boot_anchor where unit_serial = ? and boot = ?`,
    ),
    saveAnchor: driver.prepare<[UnitSerial, number, Instant, number, string]>(
      `insert into boot_anchor (unit_serial, boot, booted_at, error_seconds, basis) values (?, ?, ?, ?, ?)
       on conflict (unit_serial, boot)
       do update set booted_at = excluded.booted_at, error_seconds = excluded.error_seconds, basis = excluded.basis`,
    ),
    endOfEarlierBoots: driver
      .prepare<[UnitSerial, number], Instant | null>(
        `select max(ends_at) from
           (select ends_at from message where unit_serial = ? and boot < ? order by boot desc, sequence desc limit 8)`,
      )
      .pluck(),
    bootPlaced: driver.prepare<[UnitSerial, number], { earliest: Instant | null; newest: number | null }>(
      `select min(starts_at) as earliest, max(sequence) as newest from message where unit_serial = ? and boot = ?`,
    ),
    moveBoot: driver.prepare<[number, number, UnitSerial, number]>(
      `update message set starts_at = starts_at + ?, ends_at = ends_at + ? where unit_serial = ? and boot = ?`,
    ),
    wholeBoot: driver.prepare<[UnitSerial, number], MessageRow>(
      `select ${messageColumns} from message where unit_serial = ? and boot = ? order by sequence`,
    ),
    newestOfBoot: driver.prepare<[UnitSerial, number], MessageRow>(
      `select ${messageColumns} from message where unit_serial = ? and boot = ? order by sequence desc limit 1`,
    ),
    moveMessage: driver.prepare<[Instant, Instant, number]>(
      "update message set starts_at = ?, ends_at = ? where id = ?",
    ),
    newestHelloBoot: driver
      .prepare<[UnitSerial], number>(
        `select boot from message where unit_serial = ? and kind = 'hello' order by boot desc limit 1`,
      )
      .pluck(),
    heardFrom: driver.prepare<[Instant, UnitSerial]>(
      "update unit set last_heard_at = max(coalesce(last_heard_at, 0), ?) where serial = ?",
    ),
    reportedVersions: driver.prepare<[string, string, UnitSerial]>(
      "update unit set firmware = ?, hardware = ? where serial = ?",
    ),
    newestMessage: driver.prepare<[], number | null>("select max(id) from message").pluck(),
  };
}

function ranging(driver: Sqlite.Database) {
  const columns = 'boot, from_sequence as "from", to_sequence as "to"';
  return {
    /** Latest ranges starting at or before a sequence, newest first: as they don't overlap, the caller may stop at
     *  the first that ends too early. */
    rangesUpTo: driver.prepare<[UnitSerial, number, number], RangeRow>(
      `select ${columns} from stored_range where unit_serial = ? and boot = ? and from_sequence <= ?
       order by from_sequence desc`,
    ),
    firstRanges: driver.prepare<[UnitSerial, number, number], RangeRow>(
      `select ${columns} from stored_range where unit_serial = ? and boot = ? order by from_sequence limit ?`,
    ),
    rangesOfUnit: driver.prepare<[UnitSerial, number], RangeRow>(
      `select ${columns} from stored_range where unit_serial = ? order by boot, from_sequence limit ?`,
    ),
    addRange: driver.prepare<[UnitSerial, number, number, number]>(
      "insert into stored_range (unit_serial, boot, from_sequence, to_sequence) values (?, ?, ?, ?)",
    ),
    stretchRange: driver.prepare<[number, UnitSerial, number, number]>(
      "update stored_range set to_sequence = ? where unit_serial = ? and boot = ? and from_sequence = ?",
    ),
    dropRange: driver.prepare<[UnitSerial, number, number]>(
      "delete from stored_range where unit_serial = ? and boot = ? and from_sequence = ?",
    ),
  };
}

function reading(driver: Sqlite.Database) {
  return {
    inTime: driver.prepare<[UnitSerial, number, number, number, number], MessageRow>(
      `select ${messageColumns} from message
       where unit_serial = ? and starts_at >= ? and starts_at < ? and ends_at >= ? and received_at <= ?
       order by boot, sequence`,
    ),
    sequencesKnown: driver.prepare<[UnitSerial, number], { boot: number; sequence: number }>(
      `select boot, sequence from message where unit_serial = ? and received_at <= ? order by boot, sequence`,
    ),
    sequencesBetween: driver
      .prepare<[UnitSerial, number, number, number, number], number>(
        `select sequence from message
         where unit_serial = ? and boot = ? and sequence between ? and ? and received_at <= ? order by sequence`,
      )
      .pluck(),
    lastBefore: driver
      .prepare<[UnitSerial, number, number, number], Instant | null>(
        `select ends_at from message where unit_serial = ? and boot = ? and sequence < ? and received_at <= ?
         order by sequence desc limit 1`,
      )
      .pluck(),
    firstAfter: driver
      .prepare<[UnitSerial, number, number, number], Instant | null>(
        `select starts_at from message where unit_serial = ? and boot = ? and sequence > ? and received_at <= ?
         order by sequence limit 1`,
      )
      .pluck(),
    faultsOf: driver.prepare<[UnitSerial], { payload: Buffer; receivedAt: Instant }>(
      "select payload, received_at as receivedAt from message where unit_serial = ? and kind = 'fault'",
    ),
    lastRecorded: driver
      .prepare<[UnitSerial], Instant | null>(
        `select max(ends_at) from
           (select ends_at from message where unit_serial = ? and starts_at is not null
            order by starts_at desc limit 16)`,
      )
      .pluck(),
    reviewedThrough: driver
      .prepare<[UnitSerial], number>("select through_message from review_mark where unit_serial = ?")
      .pluck(),
    notReviewed: driver.prepare<[], { unit: UnitSerial; earliest: Instant | null; throughMessage: number }>(
      `select m.unit_serial as unit, min(m.starts_at) as earliest, max(m.id) as throughMessage
       from message m left join review_mark r on r.unit_serial = m.unit_serial
       where m.id > coalesce(r.through_message, 0) group by m.unit_serial`,
    ),
    reviewAgainFrom: driver.prepare<[UnitSerial, number, UnitSerial]>(
      `update review_mark set through_message = min(through_message,
         (select min(id) - 1 from message where unit_serial = ? and boot = ?)) where unit_serial = ?`,
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
