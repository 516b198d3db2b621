import type { RecordedMinute } from "../record/unit-record.ts";
import { type Instant, millisecondsIn } from "../units.ts";

/** Minutes in a row on the charger, or off it: all that later days need to know of them. */
export interface PowerRun {
  readonly charging: boolean;
  /** Start of the first and of the last minute. */
  readonly first: Instant;
  readonly last: Instant;
  readonly minutes: number;
  readonly loaded: number;
  /** Without a relay. */
  readonly searching: number;
  /** mV of the first and of the last minutes, at most fifteen of each. */
  readonly head: readonly number[];
  readonly tail: readonly number[];
  /** The unit said that its cell was full: at any time, and in the last minute. */
  readonly full: boolean;
  readonly endsFull: boolean;
}

/** Minutes further apart than this are not one run: what happened between them is unknown. */
const longestHole = 90 * millisecondsIn.minute;
const kept = 15;

/** @param minutes oldest first */
export function powerRuns(minutes: readonly RecordedMinute[]): PowerRun[] {
  const runs: PowerRun[] = [];
  let from = 0;
  for (let next = 1; next <= minutes.length; next++) {
    const [minute, before] = [minutes[next], minutes[next - 1]];
    if (minute && before && onCharger(minute) === onCharger(before) && minute.at - before.at <= longestHole)
      continue;
    if (before) runs.push(runOf(minutes.slice(from, next)));
    from = next;
  }
  return runs;
}

const onCharger = ({ power }: RecordedMinute): boolean => power !== "on-battery";

function runOf(minutes: readonly RecordedMinute[]): PowerRun {
  const [first, last] = [minutes[0], minutes.at(-1)];
  if (!first || !last) throw new Error("a run holds at least one minute");
  let loaded = 0;
  let searching = 0;
  let full = false;
  for (const { seat, signal, power } of minutes) {
    if (seat === "loaded") loaded++;
    if (signal === null) searching++;
    if (power === "charged") full = true;
  }
  return {
    charging: onCharger(first),
    first: first.at,
    last: last.at,
    minutes: minutes.length,
    loaded,
    searching,
    head: minutes.slice(0, kept).map(({ cell }) => cell),
    tail: minutes.slice(-kept).map(({ cell }) => cell),
    full,
    endsFull: last.power === "charged",
  };
}

/** Runs that go on over midnight are one. @param runs of days after each other, oldest first */
export function joinedRuns(runs: readonly PowerRun[]): PowerRun[] {
  const joined: PowerRun[] = [];
  for (const run of runs) {
    const before = joined.at(-1);
    if (before && before.charging === run.charging && run.first - before.last <= longestHole)
      joined[joined.length - 1] = together(before, run);
    else joined.push(run);
  }
  return joined;
}

const together = (one: PowerRun, next: PowerRun): PowerRun => ({
  charging: one.charging,
  first: one.first,
  last: next.last,
  minutes: one.minutes + next.minutes,
  loaded: one.loaded + next.loaded,
  searching: one.searching + next.searching,
  head: [...one.head, ...next.head].slice(0, kept),
  tail: [...one.tail, ...next.tail].slice(-kept),
  full: one.full || next.full,
  endsFull: next.endsFull,
});
