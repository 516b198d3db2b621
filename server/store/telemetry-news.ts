import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { TelemetryStatements } from "./telemetry-statements.ts";

interface Entry {
  readonly throughMessage: number;
  readonly earliest: Instant | null;
}

export interface Unreviewed extends Entry {
  readonly unit: UnitSerial;
}

/** Entries a unit may collect before neighbours are joined; joining only makes a review reach further back. */
const mostEntries = 64;

/** What has been stored since each unit's last review. Read from the tables once, then kept as commits happen, so that
 *  asking costs as much as there is news and not as much as there is history. */
export class TelemetryNews {
  readonly #statements: TelemetryStatements;
  readonly #entries = new Map<UnitSerial, Entry[]>();

  constructor(statements: TelemetryStatements) {
    this.#statements = statements;
    for (const { unit, ...entry } of statements.notReviewed.all()) this.#entries.set(unit, [entry]);
  }

  /** @param throughMessage newest message of the commit that changed the record from `earliest` on */
  add(unit: UnitSerial, entry: Entry): void {
    const entries = this.#entries.get(unit) ?? [];
    entries.push(entry);
    this.#entries.set(unit, entries.length > mostEntries ? joinedInPairs(entries) : entries);
  }

  all(): readonly Unreviewed[] {
    return [...this.#entries.keys()].flatMap((unit) => this.of(unit) ?? []);
  }

  of(unit: UnitSerial): Unreviewed | null {
    const entries = this.#entries.get(unit);
    if (entries === undefined) return null;
    const mark = this.#statements.reviewedThrough.get(unit) ?? 0;
    const left = entries.filter(({ throughMessage }) => throughMessage > mark);
    if (left.length === 0) {
      this.#entries.delete(unit);
      return null;
    }
    this.#entries.set(unit, left);
    return { unit, ...left.reduce(joined) };
  }
}

const joined = (a: Entry, b: Entry): Entry => ({
  throughMessage: Math.max(a.throughMessage, b.throughMessage),
  earliest: a.earliest === null || (b.earliest !== null && b.earliest < a.earliest) ? b.earliest : a.earliest,
});

function joinedInPairs(entries: readonly Entry[]): Entry[] {
  const pairs: Entry[] = [];
  for (let at = 0; at < entries.length; at += 2) pairs.push(entries.slice(at, at + 2).reduce(joined));
  return pairs;
}
