import type { RecordedMinute, UnitRecord } from "../record/unit-record.ts";
import {
  type DecibelMilliwatts,
  decibelMilliwatts,
  type Instant,
  instant,
  type Milliseconds,
  milliseconds,
  type Span,
} from "../units.ts";

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

/** @param days that tile `over`, oldest first: local days, cut to it */
export function linkQuality(record: UnitRecord, over: Span, days: readonly Span[]): LinkQuality {
  const signals = record.minutes.flatMap((minute) => (minute.signal === null ? [] : [minute.signal]));
  const delays = record.minutes.map((minute) => Math.max(0, minute.receivedAt - minute.at - 60_000));
  const median = quantile(signals, 0.5);
  const middle = quantile(delays, 0.5);
  const slow = quantile(delays, 0.9);
  const sizeOf = (fate: "lost" | "awaited") =>
    record.holes
      .filter((hole) => hole.fate === fate)
      .reduce((sum, hole) => sum + hole.toSequence - hole.fromSequence + 1, 0);
  const unwanted = record.boots.filter((boot) => boot.reset === "brown-out" || boot.reset === "watchdog");
  return {
    over,
    recordedMinutes: record.minutes.length,
    minutesWithoutRelay: record.minutes.length - signals.length,
    medianSignal: median === null ? null : decibelMilliwatts(median),
    delay:
      middle === null || slow === null
        ? null
        : { median: milliseconds(middle), ninthDecile: milliseconds(slow) },
    messagesLost: sizeOf("lost"),
    messagesAwaited: sizeOf("awaited"),
    restarts: record.boots.length,
    unwantedRestarts: unwanted.length,
    firstUnwantedRestartAt: unwanted[0]?.at ?? null,
    firstLossAt: earliest(
      record.holes.flatMap((hole) => (hole.fate === "lost" ? [hole.after ?? hole.before ?? over.start] : [])),
    ),
    days: linkDays(record.minutes, days),
  };
}

function linkDays(minutes: readonly RecordedMinute[], days: readonly Span[]): LinkDay[] {
  let next = 0;
  return days.map(({ start, end }) => {
    let recordedMinutes = 0;
    let minutesWithoutRelay = 0;
    for (; next < minutes.length; next++) {
      const minute = minutes[next];
      if (!minute || minute.at >= end) break;
      if (minute.at < start) continue;
      recordedMinutes++;
      if (minute.signal === null) minutesWithoutRelay++;
    }
    return { start, end, recordedMinutes, minutesWithoutRelay };
  });
}

const earliest = (moments: readonly Instant[]): Instant | null =>
  moments.length === 0 ? null : instant(Math.min(...moments));

/** The smallest value with at least `share` of the values at or below it; null of none. */
function quantile(values: readonly number[], share: number): number | null {
  if (values.length === 0) return null;
  // A typed array sorts by number, and many times faster than a comparison would.
  const sorted = Float64Array.from(values).sort();
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? null;
}
