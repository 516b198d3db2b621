import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { keepingAside } from "./kept-aside-statements.ts";

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

/** A unit's messages that are not packed yet: see telemetry-recent.ts. */
const recentOf = (more = "") => `id in (select id from temp.recent where unit_serial = ?${more})`;

/** Every statement of the hot path, prepared once: raw ones cost a quarter of a query builder's. The ones on `message`
 *  find only what is not packed yet; `MessageBlocks` has the rest. */
export function prepareStatements(driver: Sqlite.Database) {
  return {
    ...appending(driver),
    ...keepingAside(driver),
    ...placing(driver),
    ...ranging(driver),
    ...reading(driver),
    ...reviewing(driver),
  };
}

function appending(driver: Sqlite.Database) {
  return {
    payloadNamed: driver
      .prepare<[UnitSerial, number, number], Buffer>(
        `select payload from message where ${recentOf(" and boot = ? and sequence = ?")}`,
      )
      .pluck(),
    insertMessage: driver.prepare<
      [UnitSerial, number, number, string, Instant, Instant, Instant, Uint8Array]
    >(
      `insert into message (unit_serial, boot, sequence, kind, received_at, starts_at, ends_at, payload)
       values (?, ?, ?, ?, ?, ?, ?, ?)`,
    ),
    newestHelloBoot: driver
      .prepare<[UnitSerial], number | null>(
        `select max(boot) from message where ${recentOf()} and kind = 'hello'`,
      )
      .pluck(),
    heardFrom: driver.prepare<[Instant, UnitSerial]>(
      "update unit set last_heard_at = max(coalesce(last_heard_at, 0), ?) where serial = ?",
    ),
    reportedVersions: driver.prepare<[string, string, UnitSerial]>(
      "update unit set firmware = ?, hardware = ? where serial = ?",
    ),
    reportedRelay: driver.prepare<[string, UnitSerial]>("update unit set relay = ? where serial = ?"),
    newestMessage: driver.prepare<[], number | null>("select max(id) from message").pluck(),
  };
}

function placing(driver: Sqlite.Database) {
  return {
    anchorOf: driver.prepare<[UnitSerial, number], AnchorRow>(
      `select booted_at as bootedAt, error_seconds as errorSeconds, basis
       from boot_anchor where unit_serial = ? and boot = ?`,
    ),
    saveAnchor: driver.prepare<[UnitSerial, number, Instant, number, string]>(
      `insert into boot_anchor (unit_serial, boot, booted_at, error_seconds, basis) values (?, ?, ?, ?, ?)
       on conflict (unit_serial, boot)
       do update set booted_at = excluded.booted_at, error_seconds = excluded.error_seconds, basis = excluded.basis`,
    ),
    /** Nearest first. */
    earlierAnchors: driver.prepare<[UnitSerial, number], AnchorRow & { readonly boot: number }>(
      `select boot, booted_at as bootedAt, error_seconds as errorSeconds, basis
       from boot_anchor where unit_serial = ? and boot < ? order by boot desc limit 8`,
    ),
    /** Nearest first. */
    laterAnchors: driver.prepare<[UnitSerial, number], AnchorRow & { readonly boot: number }>(
      `select boot, booted_at as bootedAt, error_seconds as errorSeconds, basis
       from boot_anchor where unit_serial = ? and boot > ? order by boot limit 8`,
    ),
    startOfLaterBoots: driver
      .prepare<[UnitSerial, number], Instant | null>(
        "select min(booted_at) from boot_anchor where unit_serial = ? and boot > ?",
      )
      .pluck(),
    endOfBoot: driver
      .prepare<[UnitSerial, number], Instant | null>(
        `select max(ends_at) from (select ends_at from message where ${recentOf(" and boot = ?")}
           order by sequence desc limit 8)`,
      )
      .pluck(),
    startOfBoot: driver
      .prepare<[UnitSerial, number], Instant | null>(
        `select min(starts_at) from message where ${recentOf(" and boot = ?")}`,
      )
      .pluck(),
    moveBoot: driver.prepare<[number, number, UnitSerial, number]>(
      `update message set starts_at = starts_at + ?, ends_at = ends_at + ? where ${recentOf(" and boot = ?")}`,
    ),
    wholeBoot: driver.prepare<[UnitSerial, number], MessageRow>(
      `select ${messageColumns} from message where ${recentOf(" and boot = ?")} order by sequence`,
    ),
    newestOfBoot: driver.prepare<[UnitSerial, number], MessageRow>(
      `select ${messageColumns} from message
       where ${recentOf(" and boot = ? order by sequence desc limit 1")}`,
    ),
    moveMessage: driver.prepare<[Instant, Instant, number]>(
      "update message set starts_at = ?, ends_at = ? where id = ?",
    ),
    toPack: driver.prepare<[UnitSerial, number], MessageRow>(
      `select ${messageColumns} from message where ${recentOf()} and id <= ? order by boot, sequence`,
    ),
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
    rangesOfUnit: driver.prepare<[UnitSerial, number], RangeRow>(
      `select ${columns} from stored_range where unit_serial = ? order by boot, from_sequence limit ?`,
    ),
    recentOfBoot: driver
      .prepare<[UnitSerial, number], number>(
        "select sequence from temp.recent where unit_serial = ? and boot = ? order by sequence",
      )
      .pluck(),
    // Numbers that follow each other lie as far from their rank: one group, and no row for each.
    recentRanges: driver.prepare<[UnitSerial, number], RangeRow>(
      `select boot, min(sequence) as "from", max(sequence) as "to" from (
         select boot, sequence, sequence - row_number() over (partition by boot order by sequence) as start
         from (select boot, sequence from temp.recent where unit_serial = ? order by boot, sequence limit ?)
       ) group by boot, start order by boot, start`,
    ),
    rangesOfBoot: driver.prepare<[UnitSerial, number], RangeRow>(
      `select ${columns} from stored_range where unit_serial = ? and boot = ? order by from_sequence`,
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
       where ${recentOf()} and starts_at >= ? and starts_at < ? and ends_at >= ? and received_at <= ?
       order by boot, sequence`,
    ),
    sequencesKnown: driver.prepare<[UnitSerial, number], { boot: number; sequence: number }>(
      `select boot, sequence from message where ${recentOf()} and received_at <= ?`,
    ),
    sequencesBetween: driver
      .prepare<[UnitSerial, number, number, number, number], number>(
        `select sequence from message
         where ${recentOf(" and boot = ? and sequence between ? and ?")} and received_at <= ?`,
      )
      .pluck(),
    lastBefore: driver.prepare<[UnitSerial, number, number, number], { sequence: number; at: Instant }>(
      `select sequence, ends_at as at from message
       where ${recentOf(" and boot = ? and sequence < ?")} and received_at <= ?
       order by sequence desc limit 1`,
    ),
    firstAfter: driver.prepare<[UnitSerial, number, number, number], { sequence: number; at: Instant }>(
      `select sequence, starts_at as at from message
       where ${recentOf(" and boot = ? and sequence > ?")} and received_at <= ?
       order by sequence limit 1`,
    ),
    faultsOf: driver.prepare<[UnitSerial], { payload: Buffer; receivedAt: Instant }>(
      `select payload, received_at as receivedAt from message where ${recentOf()} and kind = 'fault'`,
    ),
    lastRecorded: driver
      .prepare<[UnitSerial], Instant | null>(`select max(ends_at) from message where ${recentOf()}`)
      .pluck(),
  };
}

function reviewing(driver: Sqlite.Database) {
  return {
    reviewedThrough: driver
      .prepare<[UnitSerial], number>("select through_message from review_mark where unit_serial = ?")
      .pluck(),
    /** A block that holds anything new counts from its own start: a review reaches further back, never less far. */
    notReviewed: driver.prepare<[], { unit: UnitSerial; earliest: Instant | null; throughMessage: number }>(
      `select unit, min(earliest) as earliest, max(last) as throughMessage from (
         select m.unit_serial as unit, m.starts_at as earliest, m.id as last
         from temp.recent n join message m on m.id = n.id left join review_mark r on r.unit_serial = n.unit_serial
         where n.id > coalesce(r.through_message, 0)
         union all
         select b.unit_serial, b.starts_at, b.last_id
         from message_block b left join review_mark r on r.unit_serial = b.unit_serial
         where b.last_id > coalesce(r.through_message, 0)
         union all
         select v.unit_serial, v.moved_from, v.by_message
         from record_moved v left join review_mark r on r.unit_serial = v.unit_serial
         where v.by_message > coalesce(r.through_message, 0))
       group by unit`,
    ),
    recordMoved: driver.prepare<[UnitSerial, Instant, number]>(
      `insert into record_moved (unit_serial, moved_from, by_message) values (?, ?, ?)
       on conflict (unit_serial) do update
       set moved_from = min(moved_from, excluded.moved_from), by_message = excluded.by_message`,
    ),
  };
}
