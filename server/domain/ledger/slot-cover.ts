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

/** Asked for the rising midpoints of a day's slots, gives the place of the minute record that a slot belongs
 *  to; -1: of none.
 *
 *  A slot belongs to the record whose [at, at + 60 s) holds its midpoint. Minutes of a unit don't start on the wall
 *  clock's minute, and its clock runs a little fast or slow, so two records can leave a sliver of time between them:
 *  a sliver shorter than a minute is no missing minute, and goes to the record before it. Where two boots overlap,
 *  the record that started last is taken. */
export function minuteCover(starts: Float64Array): (at: Instant) => number {
  let next = 0;
  return (at) => {
    while (next < starts.length && (starts[next] ?? 0) <= at) next++;
    if (next === 0) return -1;
    const recordEnd = (starts[next - 1] ?? 0) + millisecondsIn.minute;
    if (at < recordEnd) return next - 1;
    const following = starts[next];
    return following !== undefined && following - recordEnd < millisecondsIn.minute ? next - 1 : -1;
  };
}
