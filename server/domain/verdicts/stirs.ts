import type { RecordedMinute, UnitRecord } from "../record/unit-record.ts";
import { type Instant, millisecondsIn } from "../units.ts";

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
 *  @param record minutes and reliefs in order of time */
export function stirsIn(record: Pick<UnitRecord, "minutes" | "reliefs">): StirCount {
  const stirs = stirTimes(record.minutes);
  const told = new Set<Instant>();
  let reliefs = 0;
  let atReliefs = 0;
  let next = 0;
  for (const { at, outcome } of record.reliefs) {
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

function stirTimes(minutes: readonly RecordedMinute[]): Instant[] {
  const found: Instant[] = [];
  const usual = { load: 0, right: 0, front: 0 };
  let lastAt = Number.NEGATIVE_INFINITY;
  let since: Instant | null = null;
  let length = 0;
  for (const { at, seat, load, centreRight, centreFront } of minutes) {
    const goesOn = seat === "loaded" && at - lastAt < 3 * millisecondsIn.minute;
    if (seat === "loaded") lastAt = at;
    else lastAt = Number.NEGATIVE_INFINITY;
    if (!goesOn) {
      since = null;
      length = 0;
      Object.assign(usual, { load, right: centreRight, front: centreFront });
      continue;
    }
    const stirred =
      load < usual.load * (1 - lighterBy) ||
      Math.abs(centreRight - usual.right) > awayBy ||
      Math.abs(centreFront - usual.front) > awayBy;
    if (stirred) {
      since ??= at;
      length += 1;
      if (length <= longestMinutes) continue;
      // It has stayed so: they sit another way now.
      since = null;
      length = 0;
      Object.assign(usual, { load, right: centreRight, front: centreFront });
      continue;
    }
    if (since !== null) found.push(since);
    since = null;
    length = 0;
    usual.load += follows * (load - usual.load);
    usual.right += follows * (centreRight - usual.right);
    usual.front += follows * (centreFront - usual.front);
  }
  return found;
}
