import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import type { Instant, Span } from "../../../server/domain/units.ts";

/** The part of a record that the store would read for a span. */
export function slice(record: UnitRecord, { start, end }: Span): UnitRecord {
  return {
    ...record,
    minutes: record.minutes.slice(firstAtOrAfter(record.minutes, start), firstAtOrAfter(record.minutes, end)),
    reliefs: record.reliefs.slice(firstAtOrAfter(record.reliefs, start), firstAtOrAfter(record.reliefs, end)),
    frames: [],
    boots: record.boots.filter(({ at }) => at >= start && at < end),
    faults: record.faults.filter(({ at }) => at >= start && at < end),
    holes: record.holes.filter(({ after, before }) => (after ?? start) < end && (before ?? end) > start),
  };
}

function firstAtOrAfter(list: readonly { readonly at: Instant }[], at: number): number {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((list[middle]?.at ?? 0) < at) low = middle + 1;
    else high = middle;
  }
  return low;
}
