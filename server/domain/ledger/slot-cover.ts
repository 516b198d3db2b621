import type { RecordedMinute } from "../record/unit-record.ts";
import { type Instant, millisecondsIn, type Span } from "../units.ts";

/** Asked for rising instants, tells which of `spans` (in order, not overlapping) holds each. */
export function spanCover(spans: readonly Span[]): (at: Instant) => boolean {
  let next = 0;
  return (at) => {
    let span = spans[next];
    while (span && span.end <= at) span = spans[++next];
    return span !== undefined && span.start <= at;
  };
}

/** Asked for the rising midpoints of a day's slots, gives the minute record that a slot belongs to.
 *
 *  A slot belongs to the record whose [at, at + 60 s) holds its midpoint. Minutes of a unit don't start on the wall
 *  clock's minute, and its clock runs a little fast or slow, so two records can leave a sliver of time between them:
 *  a sliver shorter than a minute is no missing minute, and goes to the record before it. Where two boots overlap,
 *  the record that started last is taken. `minutes` are sorted by `at`. */
export function minuteCover(minutes: readonly RecordedMinute[]): (at: Instant) => RecordedMinute | null {
  let next = 0;
  return (at) => {
    let following = minutes[next];
    while (following && following.at <= at) following = minutes[++next];
    const latest = minutes[next - 1];
    if (!latest) return null;
    const recordEnd = latest.at + millisecondsIn.minute;
    if (at < recordEnd) return latest;
    return following && following.at - recordEnd < millisecondsIn.minute ? latest : null;
  };
}
