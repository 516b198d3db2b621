import type { UnitRecord } from "../record/unit-record.ts";
import { robustTrend } from "../statistics/robust-trend.ts";
import {
  type DecibelMilliwatts,
  decibelMilliwatts,
  type Instant,
  type Interval,
  instant,
  type Milliseconds,
  milliseconds,
  millisecondsIn,
  type Span,
} from "../units.ts";
import type { CountedBack } from "./clock-day.ts";
import { type ClockDrift, clockDrift } from "./clock-drift.ts";
import { delayWithin, type LinkDayCounts, medianSignal } from "./link-day.ts";
import { type Loss, lossOf, lostMinutes, sizeOf } from "./loss.ts";
import { type RelayDay, type RelayHistory, relayHistory } from "./relay-day.ts";
import { type LastCell, type Restarts, restartsOf } from "./restarts.ts";

export interface LinkQuality {
  readonly over: Span;
  readonly recordedMinutes: number;
  /** Minutes in which the unit had no relay to talk to, by its own account. */
  readonly minutesWithoutRelay: number;
  readonly medianSignal: DecibelMilliwatts | null;
  /** dB a week, by a robust line through the daily medians, at 90 %; null: too few days. */
  readonly signalTrend: Interval | null;
  /** From the end of a minute to its arrival: within which half, nine in ten, ninety-nine in a hundred came. */
  readonly delay: {
    readonly median: Milliseconds;
    readonly ninthDecile: Milliseconds;
    readonly ninetyNinth: Milliseconds;
  } | null;
  readonly loss: Loss;
  readonly messagesAwaited: number;
  /** null: no boot was in touch for a week of days. */
  readonly clock: ClockDrift | null;
  readonly restarts: Restarts;
  readonly relays: RelayHistory;
  /** Where the first message was lost for good, as nearly as its neighbours tell. */
  readonly firstLossAt: Instant | null;
  readonly days: readonly LinkDay[];
}

export interface LinkDay extends Span {
  readonly recordedMinutes: number;
  readonly minutesWithoutRelay: number;
  /** Lost for good, where it can be placed. */
  readonly lostMinutes: number;
}

/** What one day says, and when it was. */
export interface LinkSpan {
  readonly span: Span;
  readonly counts: LinkDayCounts;
  readonly relay: RelayDay;
  readonly clock: readonly CountedBack[];
}

/** What else of the same time says something of the link and the electronics. */
interface Besides extends Pick<UnitRecord, "boots" | "holes" | "faults"> {
  /** What each run on battery last told of the cell, oldest first. */
  readonly cells: readonly LastCell[];
}

/** @param days oldest first */
export function linkQuality(
  over: Span,
  days: readonly LinkSpan[],
  { boots, holes, faults, cells }: Besides,
): LinkQuality {
  const counts = days.map((day) => day.counts);
  const median = medianSignal(counts);
  const middle = delayWithin(counts, 0.5);
  const slow = delayWithin(counts, 0.9);
  const slowest = delayWithin(counts, 0.99);
  const told = days.map(({ span, counts: { minutes, withoutRelay } }) => ({
    ...span,
    recordedMinutes: minutes,
    minutesWithoutRelay: withoutRelay,
    lostMinutes: lostMinutes(holes, span),
  }));
  return {
    over,
    recordedMinutes: counts.reduce((sum, { minutes }) => sum + minutes, 0),
    minutesWithoutRelay: counts.reduce((sum, { withoutRelay }) => sum + withoutRelay, 0),
    medianSignal: median === null ? null : decibelMilliwatts(median),
    signalTrend: signalTrend(days),
    delay:
      middle === null || slow === null || slowest === null
        ? null
        : {
            median: milliseconds(middle),
            ninthDecile: milliseconds(slow),
            ninetyNinth: milliseconds(slowest),
          },
    loss: lossOf(holes, told),
    messagesAwaited: sizeOf(holes, "awaited"),
    clock: clockDrift(days.flatMap(({ clock }) => clock)),
    restarts: restartsOf(boots, faults, cells),
    relays: relayHistory(days.map(({ span, relay }) => ({ start: span.start, relay }))),
    firstLossAt: earliest(
      holes.flatMap((hole) => (hole.fate === "lost" ? [hole.after ?? hole.before ?? over.start] : [])),
    ),
    days: told,
  };
}

/** Days with a signal from which a trend is told. Assumption. */
const fewestDays = 10;
const week = 7 * 24 * millisecondsIn.hour;

function signalTrend(days: readonly LinkSpan[]): Interval | null {
  const points = days.flatMap(({ span, counts }) => {
    const level = medianSignal([counts]);
    return level === null ? [] : [{ x: span.start / week, y: level }];
  });
  return points.length < fewestDays ? null : (robustTrend(points, 0.9)?.slope ?? null);
}

const earliest = (moments: readonly Instant[]): Instant | null =>
  moments.length === 0 ? null : instant(Math.min(...moments));
