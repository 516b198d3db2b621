import { type Instant, instant, type Milliseconds } from "../units.ts";
import type { Stretch } from "../verdicts/verdict.ts";
import type { FoundStretch } from "./find-gaps.ts";
import { cutInParts } from "./ran-unheard.ts";

export interface MatchedStretches {
  /** Listed before and found again, with the bounds found now. */
  readonly kept: readonly Stretch[];
  /** Listed before and no longer there: what was missing has come. */
  readonly filled: readonly Stretch[];
  readonly fresh: readonly FoundStretch[];
}

/** Tells which of the stretches found now are ones listed before: of the same kind, the pair that shares most time
 *  first. So a gap keeps its identity as it grows or shrinks, and when it splits the longest part keeps it.
 *
 *  Where two listed gaps are found as one, neither was filled: the cut between them stays, whatever the numbering says
 *  of it now. Only where less than the shortest gap is still missing has it come.
 *  @param listed not filled, one loan
 *  @param at.now when a filled one is noticed, and until when a stretch that goes on is seen
 *  @param at.shortestGap less than this that is missing is no gap
 *  @param heardFrom when the first of what fills a stretch that went on came in: the silence ended then, however much
 *  later anybody looks */
export function matchStretches(
  listed: readonly Stretch[],
  found: readonly FoundStretch[],
  at: { readonly now: Instant; readonly shortestGap: Milliseconds },
  heardFrom: (start: Instant) => Instant,
): MatchedStretches {
  const { now } = at;
  const first = pairUp(listed, found, now);
  const lost = listed.filter((before) => before.kind === "gap" && !first.has(before));
  const apart = lost.length === 0 ? found : found.flatMap((stretch) => cutAgain(stretch, lost, at));
  const matches = apart === found ? first : pairUp(listed, apart, now);
  const taken = new Set(matches.values());
  return {
    kept: [...matches].map(([before, { start, end }]) => ({ ...before, start, end })),
    filled: listed
      .filter((before) => !matches.has(before))
      .map((before) => ({ ...before, end: before.end ?? heardFrom(before.start), filledAt: now })),
    fresh: apart.filter((stretch) => !taken.has(stretch)),
  };
}

function pairUp(
  listed: readonly Stretch[],
  found: readonly FoundStretch[],
  now: Instant,
): Map<Stretch, FoundStretch> {
  const pairs = listed
    .flatMap((before) =>
      found
        .filter((stretch) => stretch.kind === before.kind)
        .map((stretch) => ({ before, stretch, shared: sharedTime(before, stretch, now) })),
    )
    .filter(({ shared }) => shared > 0)
    .sort(
      (a, b) => b.shared - a.shared || a.before.start - b.before.start || a.stretch.start - b.stretch.start,
    );
  const matches = new Map<Stretch, FoundStretch>();
  const taken = new Set<FoundStretch>();
  for (const { before, stretch } of pairs) {
    if (matches.has(before) || taken.has(stretch)) continue;
    matches.set(before, stretch);
    taken.add(stretch);
  }
  return matches;
}

/** A found gap, cut at the bounds of those listed that it swallowed. */
function cutAgain(
  stretch: FoundStretch,
  lost: readonly Stretch[],
  { now, shortestGap }: { readonly now: Instant; readonly shortestGap: Milliseconds },
): FoundStretch[] {
  if (stretch.kind !== "gap") return [stretch];
  const edges = lost
    .filter((before) => sharedTime(before, stretch, now) >= shortestGap)
    .flatMap(({ start, end }) => (end === null ? [start] : [start, end]));
  return cutInParts(stretch, edges, { shortest: shortestGap, now });
}

type Bounds = Pick<FoundStretch, "start" | "end">;

const sharedTime = (a: Bounds, b: Bounds, now: Instant): number =>
  Math.min(endOf(a, now), endOf(b, now)) - Math.max(a.start, b.start);

const endOf = ({ start, end }: Bounds, now: Instant): Instant => end ?? instant(Math.max(now, start + 1));
