import type { RecordedMinute } from "../record/unit-record.ts";

/** What one day says of a link. Counts of whole numbers, so that days add up the same in any order. */
export interface LinkDayCounts {
  readonly minutes: number;
  readonly withoutRelay: number;
  /** By −dBm. */
  readonly signals: Uint16Array;
  /** By `delayStep`. */
  readonly delays: Uint16Array;
}

const weakest = 127;
/** Steps of 2 %: a delay of weeks and one of seconds are told equally well. */
const stepBase = 1.02;
const steps = 800;

const delayStep = (milliseconds: number): number =>
  Math.min(steps - 1, Math.round(Math.log(1 + Math.max(0, milliseconds) / 1_000) / Math.log(stepBase)));

/** @param minutes of one day */
export function linkDay(minutes: readonly RecordedMinute[]): LinkDayCounts {
  const signals = new Uint16Array(weakest + 1);
  const delays = new Uint16Array(steps);
  let withoutRelay = 0;
  let lastDelay = -1;
  let lastStep = 0;
  for (const { at, receivedAt, signal } of minutes) {
    if (signal === null) withoutRelay++;
    else count(signals, Math.min(weakest, Math.max(0, -Math.round(signal))));
    const delay = receivedAt - at - 60_000;
    if (delay !== lastDelay) lastStep = delayStep(delay);
    lastDelay = delay;
    count(delays, lastStep);
  }
  return { minutes: minutes.length, withoutRelay, signals, delays: cut(delays) };
}

function count(counts: Uint16Array, place: number): void {
  counts[place] = (counts[place] ?? 0) + 1;
}

/** Without the zeros at the end. */
function cut(counts: Uint16Array): Uint16Array {
  const last = counts.findLastIndex((each) => each > 0);
  return counts.slice(0, last + 1);
}

/** @returns dBm that half of the signals are at or above; null of none */
export function medianSignal(days: readonly LinkDayCounts[]): number | null {
  const place = quantile(
    days.map(({ signals }) => signals),
    0.5,
  );
  return place === null ? null : -place;
}

/** @returns milliseconds within which this share of the minutes came, to 2 %; null of none */
export function delayWithin(days: readonly LinkDayCounts[], share: number): number | null {
  const place = quantile(
    days.map(({ delays }) => delays),
    share,
  );
  return place === null ? null : 1_000 * (stepBase ** place - 1);
}

/** The smallest place with at least `share` of the counts at or below it. */
function quantile(days: readonly Uint16Array[], share: number): number | null {
  const longest = Math.max(0, ...days.map(({ length }) => length));
  const sums = new Float64Array(longest);
  let whole = 0;
  for (const counts of days)
    for (let place = 0; place < counts.length; place++) {
      const own = counts[place] ?? 0;
      sums[place] = (sums[place] ?? 0) + own;
      whole += own;
    }
  if (whole === 0) return null;
  let below = 0;
  const wanted = Math.max(1, Math.ceil(share * whole));
  const place = sums.findIndex((each) => {
    below += each;
    return below >= wanted;
  });
  return place;
}
