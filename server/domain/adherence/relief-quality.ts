import type { RecordedRelief } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import type { Span } from "../units.ts";

/** How reliefs were made, beside how many. null where too few were seen to say. */
export interface ReliefQuality {
  readonly complete: number;
  /** Seconds, the middle one. */
  readonly hold: number | null;
  /** Of the load, the share that left the relieved side, the middle one. */
  readonly depth: number | null;
  readonly left: number;
  readonly right: number;
  /** The longest time seated on end, all of it recorded, with no complete relief. null: none was recorded. */
  readonly longestWithout: Span | null;
}

/** Fewer say nothing of a habit. Assumption. */
const fewest = 5;

/** @param reliefs oldest first
 *  @param seated stretches recorded as seated, oldest first; two that touch are one. A gap ends a stretch: what happened
 *  in it is not known, so that the true longest may be longer. */
export function reliefQuality(reliefs: readonly RecordedRelief[], seated: readonly Span[]): ReliefQuality {
  const complete = reliefs.filter(({ outcome }) => outcome === "complete");
  const enough = complete.length >= fewest;
  const of = (kind: RecordedRelief["kind"]) => complete.filter((relief) => relief.kind === kind).length;
  return {
    complete: complete.length,
    hold: enough ? median(complete.map(({ hold }) => hold)) : null,
    depth: enough ? median(complete.map(({ depth }) => depth)) : null,
    left: of("lean-left"),
    right: of("lean-right"),
    longestWithout: longestWithout(complete, joined(seated)),
  };
}

function longestWithout(reliefs: readonly RecordedRelief[], sits: readonly Span[]): Span | null {
  let longest: Span | null = null;
  for (const { start, end } of sits) {
    const within = reliefs.filter(({ at }) => at >= start && at < end).map(({ at }) => at);
    const edges = [start, ...within, end];
    edges.slice(1).forEach((edge, index) => {
      const from = edges[index] ?? edge;
      if (edge - from > (longest === null ? 0 : longest.end - longest.start))
        longest = { start: from, end: edge };
    });
  }
  return longest;
}

function joined(spans: readonly Span[]): Span[] {
  const whole: Span[] = [];
  for (const span of spans) {
    const last = whole.at(-1);
    if (last && last.end === span.start) whole[whole.length - 1] = { start: last.start, end: span.end };
    else whole.push(span);
  }
  return whole;
}
