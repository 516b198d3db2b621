import type Sqlite from "better-sqlite3";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, millisecondsIn } from "../domain/units.ts";
import { packUnit } from "./telemetry-pack-unit.ts";
import { forgetRemembered, type TelemetryTables } from "./telemetry-tables.ts";

/** A unit's messages are packed when there are this many: six times a day for one that reports each minute. */
const worthPacking = 240;
/** What a unit sent last is packed too, once it has been quiet for so long. */
const quietFor = 6 * millisecondsIn.hour;
/** Only what a review has seen is packed, so that news stay exact; unless reviews have been failing for this long. */
const unreviewedFor = 7 * 24 * millisecondsIn.hour;
/** Rows are deleted in runs of this many, when all of a run are packed: in the order of the table, whole pages at once.
 *  One by one they would cost a page each, as an index by unit would have. */
const runLength = 4_096;
const lookForQuietEvery = millisecondsIn.hour;

/** Moves messages from the table of recent ones into blocks, in the background, a unit at a time. */
export class Packing {
  readonly #tables: TelemetryTables;
  readonly #statements: ReturnType<typeof prepare>;
  readonly #pack: Sqlite.Transaction<(unit: UnitSerial, throughId: number) => number[]>;
  /** Recent messages of each unit, and of each run of ids. */
  readonly #ofUnit = new Map<UnitSerial, number>();
  readonly #ofRun = new Map<number, number>();
  readonly #due = new Set<UnitSerial>();
  /** Runs of which every message is packed. */
  readonly #packedRuns = new Set<number>();
  #lookedForQuietAt = 0;

  constructor(driver: Sqlite.Database, tables: TelemetryTables) {
    this.#tables = tables;
    this.#statements = prepare(driver);
    this.#pack = driver.transaction((unit, throughId) => packUnit(tables, unit, throughId));
    for (const { unit, messages } of this.#statements.countByUnit.all()) this.#count(unit, messages);
    for (const { run, messages } of this.#statements.countByRun.all()) this.#ofRun.set(run, messages);
    const ends = this.#statements.ends.get();
    for (let run = runOf(ends?.oldest ?? 0); run <= runOf(ends?.newest ?? -1); run++) {
      if (!this.#ofRun.has(run)) this.#packedRuns.add(run);
    }
  }

  /** Messages that wait to be packed. */
  get recent(): number {
    let sum = 0;
    for (const count of this.#ofUnit.values()) sum += count;
    return sum;
  }

  /** Call after each commit. */
  stored(unit: UnitSerial, ids: readonly number[]): void {
    this.#count(unit, ids.length);
    for (const id of ids) {
      const run = runOf(id);
      this.#ofRun.set(run, (this.#ofRun.get(run) ?? 0) + 1);
    }
  }

  /** Packs what is due. @returns whether there may be more to do
   *  @param mayGoOn asked after each unit */
  work(now: Instant, mayGoOn: () => boolean): boolean {
    if (Math.abs(now - this.#lookedForQuietAt) >= lookForQuietEvery) this.#lookForQuiet(now);
    for (const unit of this.#due) {
      this.#due.delete(unit);
      this.#packIfWorthIt(unit, now);
      if (!mayGoOn()) return true;
    }
    return this.#deleteOneRun();
  }

  #count(unit: UnitSerial, messages: number): void {
    const before = this.#ofUnit.get(unit) ?? 0;
    this.#ofUnit.set(unit, before + messages);
    // Asked for again at each multiple: a unit not reviewed yet isn't looked at with every message.
    if (Math.floor(before / worthPacking) !== Math.floor((before + messages) / worthPacking))
      this.#due.add(unit);
  }

  #packIfWorthIt(unit: UnitSerial, now: Instant): void {
    const reviewed = this.#tables.statements.reviewedThrough.get(unit) ?? 0;
    const old = this.#statements.lastReceivedBefore.get(unit, now - unreviewedFor) ?? 0;
    const through = Math.max(reviewed, old);
    const eligible = this.#statements.upTo.get(unit, through);
    if (eligible === undefined || eligible.messages === 0) return;
    const isQuiet = eligible.lastAt !== null && eligible.lastAt < now - quietFor;
    if (eligible.messages < worthPacking && !isQuiet) return;
    try {
      this.#packed(unit, this.#pack.immediate(unit, through));
    } catch (fault) {
      forgetRemembered(this.#tables);
      throw fault;
    }
  }

  #packed(unit: UnitSerial, ids: readonly number[]): void {
    const left = (this.#ofUnit.get(unit) ?? 0) - ids.length;
    if (left > 0) this.#ofUnit.set(unit, left);
    else this.#ofUnit.delete(unit);
    for (const id of ids) {
      const run = runOf(id);
      const count = (this.#ofRun.get(run) ?? 0) - 1;
      if (count > 0) this.#ofRun.set(run, count);
      else {
        this.#ofRun.delete(run);
        this.#packedRuns.add(run);
      }
    }
  }

  #lookForQuiet(now: Instant): void {
    this.#lookedForQuietAt = now;
    for (const unit of this.#ofUnit.keys()) this.#due.add(unit);
  }

  /** The newest run stays: it may still grow. @returns whether there may be another */
  #deleteOneRun(): boolean {
    const newest = runOf(this.#tables.statements.newestMessage.get() ?? 0);
    for (const run of this.#packedRuns) {
      if (run >= newest) continue;
      this.#statements.deleteRun.run(run * runLength, (run + 1) * runLength - 1);
      this.#packedRuns.delete(run);
      return true;
    }
    return false;
  }
}

const runOf = (id: number): number => Math.floor(id / runLength);

function prepare(driver: Sqlite.Database) {
  return {
    countByUnit: driver.prepare<[], { unit: UnitSerial; messages: number }>(
      "select unit_serial as unit, count(*) as messages from temp.recent group by unit_serial",
    ),
    countByRun: driver.prepare<[], { run: number; messages: number }>(
      `select id / ${runLength} as run, count(*) as messages from temp.recent group by run`,
    ),
    lastReceivedBefore: driver
      .prepare<[UnitSerial, number], number | null>(
        `select max(id) from message where id in (select id from temp.recent where unit_serial = ?)
         and received_at < ?`,
      )
      .pluck(),
    upTo: driver.prepare<[UnitSerial, number], { messages: number; lastAt: number | null }>(
      `select count(*) as messages, max(received_at) as lastAt from message
       where id in (select id from temp.recent where unit_serial = ?) and id <= ?`,
    ),
    ends: driver.prepare<[], { oldest: number | null; newest: number | null }>(
      "select (select min(id) from message) as oldest, (select max(id) from message) as newest",
    ),
    deleteRun: driver.prepare<[number, number]>("delete from message where id between ? and ?"),
  };
}
