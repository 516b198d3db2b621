import type { LoadMinutes } from "../record/load-minutes.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { millisecondsIn } from "../units.ts";

/** Times the load shifted or fell for a minute or a few and came back. */
export interface StirCount {
  /** Reliefs that the unit counted, and how many of them show as a stir. */
  readonly reliefs: number;
  readonly atReliefs: number;
  /** Stirs where no relief was recorded, whole or broken off. */
  readonly elsewhere: number;
}

/** A seated minute that carries this much less than the minutes before, or whose centre lies this far from theirs (per
 *  cent of the half width or depth), is a stir. What stays so is another posture. Assumptions. */
const lighterBy = 0.13;
const awayBy = 11;
const longestMinutes = 4;
/** Weight of each still minute in what is taken as how they sit. */
const follows = 0.2;

/** Finds stirs in one pass: what a relief that the unit didn't recognise leaves in the record all the same.
 *  @param recorded reliefs in order of time */
export function stirsIn(minutes: LoadMinutes, recorded: readonly RecordedRelief[]): StirCount {
  const stirs = stirTimes(minutes);
  const told = new Set<number>();
  let reliefs = 0;
  let atReliefs = 0;
  let next = 0;
  for (const { at, outcome } of recorded) {
    while ((stirs[next] ?? Number.POSITIVE_INFINITY) < at - 2 * millisecondsIn.minute) next += 1;
    const stir = stirs[next];
    const shows = stir !== undefined && stir <= at + 2 * millisecondsIn.minute;
    if (shows) told.add(stir);
    if (outcome !== "complete") continue;
    reliefs += 1;
    if (shows) atReliefs += 1;
  }
  return { reliefs, atReliefs, elsewhere: stirs.length - told.size };
}

function stirTimes({ at, loaded, load, centreRight, centreFront }: LoadMinutes): number[] {
  const found: number[] = [];
  let usualLoad = 0;
  let usualRight = 0;
  let usualFront = 0;
  let lastAt = Number.NEGATIVE_INFINITY;
  let since: number | null = null;
  let length = 0;
  for (let minute = 0; minute < at.length; minute++) {
    const now = at[minute] ?? 0;
    const kilograms = load[minute] ?? 0;
    const right = centreRight[minute] ?? 0;
    const front = centreFront[minute] ?? 0;
    const isLoaded = loaded[minute] === 1;
    const goesOn = isLoaded && now - lastAt < 3 * millisecondsIn.minute;
    lastAt = isLoaded ? now : Number.NEGATIVE_INFINITY;
    const stirred =
      goesOn &&
      (kilograms < usualLoad * (1 - lighterBy) ||
        Math.abs(right - usualRight) > awayBy ||
        Math.abs(front - usualFront) > awayBy);
    if (stirred) {
      since ??= now;
      length += 1;
      if (length <= longestMinutes) continue;
    }
    if (goesOn && !stirred) {
      if (since !== null) found.push(since);
      usualLoad += follows * (kilograms - usualLoad);
      usualRight += follows * (right - usualRight);
      usualFront += follows * (front - usualFront);
    } else {
      // They have just sat down, or have stayed so and sit another way now.
      usualLoad = kilograms;
      usualRight = right;
      usualFront = front;
    }
    since = null;
    length = 0;
  }
  return found;
}
