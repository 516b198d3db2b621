import type { SequenceHole } from "../record/unit-record.ts";
import {
  type Instant,
  instant,
  type Milliseconds,
  milliseconds,
  millisecondsIn,
  type Span,
} from "../units.ts";
import type { FoundStretch } from "./find-gaps.ts";

/** When, by its own numbering, a unit ran though nothing of it has come: spans in order, none overlapping. A hole that
 *  can't be placed at both ends says nothing of when.
 *  @param holes of one unit
 *  @param apart spans nearer than this to each other are one: a single message in between is no rest */
export function ranUnheard(holes: readonly SequenceHole[], apart: Milliseconds): Span[] {
  const spans = holes
    .flatMap(({ after, before, endsAbout }) => {
      const end = before ?? endsAbout ?? null;
      return after !== null && end !== null && after < end ? [{ start: after, end }] : [];
    })
    .sort((a, b) => a.start - b.start);
  const joined: { start: Instant; end: Instant }[] = [];
  for (const span of spans) {
    const last = joined.at(-1);
    if (last && span.start - last.end < apart) last.end = instant(Math.max(last.end, span.end));
    else joined.push({ ...span });
  }
  return joined;
}

/** Cuts a stretch without a record where the unit began to run, or ceased to: either side has reasons of its own.
 *  @param shortest a part shorter than this stays with the one before it
 *  @returns parts that tile `gap`, in order */
export function cutWhereRunningChanged(gap: Span, ran: readonly Span[], shortest: Milliseconds): Span[] {
  const edges = ran.flatMap(({ start, end }) => [start, end]).sort((a, b) => a - b);
  const parts: Span[] = [];
  let start = gap.start;
  for (const edge of edges) {
    if (edge - start < shortest || gap.end - edge < shortest) continue;
    parts.push({ start, end: edge });
    start = edge;
  }
  return [...parts, { start, end: gap.end }];
}

/** Gaps with each cut into the parts that ask different questions; the last part of one that goes on goes on. */
export function cutGaps(
  gaps: readonly FoundStretch[],
  holes: readonly SequenceHole[],
  { shortestGapMinutes }: { readonly shortestGapMinutes: number },
  now: Instant,
): FoundStretch[] {
  const shortest = milliseconds(shortestGapMinutes * millisecondsIn.minute);
  const ran = ranUnheard(holes, shortest);
  return gaps.flatMap((gap) => {
    const parts = cutWhereRunningChanged({ start: gap.start, end: gap.end ?? now }, ran, shortest);
    return parts.map((part, index) => ({
      kind: gap.kind,
      start: part.start,
      end: index === parts.length - 1 ? gap.end : part.end,
    }));
  });
}
