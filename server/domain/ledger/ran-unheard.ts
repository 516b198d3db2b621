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

/** Cuts a stretch in parts that tile it, in order; the last part of one that goes on goes on.
 *  @param cut.shortest a part shorter than this stays with the one before it */
export function cutInParts(
  { kind, start, end }: FoundStretch,
  edges: readonly Instant[],
  { shortest, now }: { readonly shortest: Milliseconds; readonly now: Instant },
): FoundStretch[] {
  const until = end ?? now;
  const parts: FoundStretch[] = [];
  let from = start;
  for (const edge of [...edges].sort((a, b) => a - b)) {
    if (edge - from < shortest || until - edge < shortest) continue;
    parts.push({ kind, start: from, end: edge });
    from = edge;
  }
  return [...parts, { kind, start: from, end }];
}

/** Gaps with each cut where the unit began to run, or ceased to: either side has reasons of its own. */
export function cutGaps(
  gaps: readonly FoundStretch[],
  holes: readonly SequenceHole[],
  { shortestGapMinutes }: { readonly shortestGapMinutes: number },
  now: Instant,
): FoundStretch[] {
  const shortest = milliseconds(shortestGapMinutes * millisecondsIn.minute);
  const edges = ranUnheard(holes, shortest).flatMap(({ start, end }) => [start, end]);
  return gaps.flatMap((gap) => cutInParts(gap, edges, { shortest, now }));
}
