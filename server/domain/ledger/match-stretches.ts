import { type Instant, instant } from "../units.ts";
import type { Stretch } from "../verdicts/verdict.ts";
import type { FoundStretch } from "./find-gaps.ts";

export interface MatchedStretches {
  /** Listed before and found again, with the bounds found now. */
  readonly kept: readonly Stretch[];
  /** Listed before and no longer there: what was missing has come. */
  readonly filled: readonly Stretch[];
  readonly fresh: readonly FoundStretch[];
}

/** Tells which of the stretches found now are ones listed before: of the same kind, the pair that shares most time
 *  first. So a gap keeps its identity as it grows or shrinks, and when it splits the longest part keeps it.
 *  @param listed not filled, one loan
 *  @param now when a filled one is noticed, and until when a stretch that goes on is seen
 *  @param heardFrom when the first of what fills a stretch that went on came in: the silence ended then, however much
 *  later anybody looks */
export function matchStretches(
  listed: readonly Stretch[],
  found: readonly FoundStretch[],
  now: Instant,
  heardFrom: (start: Instant) => Instant,
): MatchedStretches {
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
  return {
    kept: [...matches].map(([before, { start, end }]) => ({ ...before, start, end })),
    filled: listed
      .filter((before) => !matches.has(before))
      .map((before) => ({ ...before, end: before.end ?? heardFrom(before.start), filledAt: now })),
    fresh: found.filter((stretch) => !taken.has(stretch)),
  };
}

type Bounds = Pick<FoundStretch, "start" | "end">;

const sharedTime = (a: Bounds, b: Bounds, now: Instant): number =>
  Math.min(endOf(a, now), endOf(b, now)) - Math.max(a.start, b.start);

const endOf = ({ start, end }: Bounds, now: Instant): Instant => end ?? instant(Math.max(now, start + 1));
