import type { UnitRecord } from "../record/unit-record.ts";
import {
  type DecibelMilliwatts,
  decibelMilliwatts,
  type Instant,
  instant,
  type Milliseconds,
  milliseconds,
  type Span,
} from "../units.ts";
import { delayWithin, type LinkDayCounts, medianSignal } from "./link-day.ts";

export interface LinkQuality {
  readonly over: Span;
  readonly recordedMinutes: number;
  /** Minutes in which the unit had no relay to talk to, by its own account. */
  readonly minutesWithoutRelay: number;
  readonly medianSignal: DecibelMilliwatts | null;
  /** From the end of a minute to its arrival: half came within, nine in ten came within. */
  readonly delay: { readonly median: Milliseconds; readonly ninthDecile: Milliseconds } | null;
  readonly messagesLost: number;
  readonly messagesAwaited: number;
  readonly restarts: number;
  /** Resets the unit did not choose: brown-out, watchdog. */
  readonly unwantedRestarts: number;
  readonly firstUnwantedRestartAt: Instant | null;
  /** Where the first message was lost for good, as nearly as its neighbours tell. */
  readonly firstLossAt: Instant | null;
  readonly days: readonly LinkDay[];
}

export interface LinkDay extends Span {
  readonly recordedMinutes: number;
  readonly minutesWithoutRelay: number;
}

/** What one day says, and when it was. */
export interface LinkSpan {
  readonly span: Span;
  readonly counts: LinkDayCounts;
}

/** @param days oldest first; @param holes of the same time */
export function linkQuality(
  over: Span,
  days: readonly LinkSpan[],
  { boots, holes }: Pick<UnitRecord, "boots" | "holes">,
): LinkQuality {
  const counts = days.map((day) => day.counts);
  const median = medianSignal(counts);
  const middle = delayWithin(counts, 0.5);
  const slow = delayWithin(counts, 0.9);
  const sizeOf = (fate: "lost" | "awaited") =>
    holes
      .filter((hole) => hole.fate === fate)
      .reduce((sum, hole) => sum + hole.toSequence - hole.fromSequence + 1, 0);
  const unwanted = boots.filter((boot) => boot.reset === "brown-out" || boot.reset === "watchdog");
  return {
    over,
    recordedMinutes: counts.reduce((sum, { minutes }) => sum + minutes, 0),
    minutesWithoutRelay: counts.reduce((sum, { withoutRelay }) => sum + withoutRelay, 0),
    medianSignal: median === null ? null : decibelMilliwatts(median),
    delay:
      middle === null || slow === null
        ? null
        : { median: milliseconds(middle), ninthDecile: milliseconds(slow) },
    messagesLost: sizeOf("lost"),
    messagesAwaited: sizeOf("awaited"),
    restarts: boots.length,
    unwantedRestarts: unwanted.length,
    firstUnwantedRestartAt: unwanted[0]?.at ?? null,
    firstLossAt: earliest(
      holes.flatMap((hole) => (hole.fate === "lost" ? [hole.after ?? hole.before ?? over.start] : [])),
    ),
    days: days.map(({ span, counts: { minutes, withoutRelay } }) => ({
      ...span,
      recordedMinutes: minutes,
      minutesWithoutRelay: withoutRelay,
    })),
  };
}

const earliest = (moments: readonly Instant[]): Instant | null =>
  moments.length === 0 ? null : instant(Math.min(...moments));
