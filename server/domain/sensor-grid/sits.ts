import type { RecordedFrame } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { type Instant, millisecondsIn } from "../units.ts";

/** One time somebody sat, from sitting down to getting up, averaged: frames of one sit repeat each other, so a sit
 *  counts once however many frames it has. */
export interface Sit {
  readonly at: Instant;
  /** Mean counts while loaded. */
  readonly counts: readonly number[];
  /** Mean counts above what was empty at that time. */
  readonly response: readonly number[];
  /** The last empty frame before it, where one came directly before. */
  readonly emptyBefore: readonly number[] | null;
}

const day = 24 * millisecondsIn.hour;
/** Empty frames that give a day an empty reading of its own; a day with fewer takes the last one known. Assumption. */
const fewestEmpty = 3;

/** What each cell reads with nobody on it: the median over empty frames, so that one odd frame doesn't move it.
 *  @param frames of one shape; loaded ones are passed over
 *  @returns counts, or null where there are fewer than `fewest` empty frames */
export function emptyOffsets(
  frames: readonly RecordedFrame[],
  fewest = fewestEmpty,
): readonly number[] | null {
  const empty = frames.filter((frame) => frame.seat === "empty");
  const first = empty[0];
  if (!first || empty.length < fewest) return null;
  return Array.from(first.cells, (_, cell) => median(empty.map((frame) => frame.cells[cell] ?? 0)) ?? 0);
}

/** @param frames oldest first, one shape
 *  @returns sits oldest first; empty where the seat was never seen empty often enough to know what a load adds */
export function sitsIn(frames: readonly RecordedFrame[]): Sit[] {
  const offsetsAt = dailyOffsets(frames);
  if (offsetsAt === null) return [];
  return split(frames).flatMap(({ loaded, emptyBefore }) => {
    const first = loaded[0];
    if (!first) return [];
    const offsets = offsetsAt(first.at);
    const counts = meanCounts(loaded);
    const response = counts.map((count, cell) => count - (offsets[cell] ?? 0));
    return [{ at: first.at, counts, response, emptyBefore: emptyBefore && Array.from(emptyBefore.cells) }];
  });
}

interface Spell {
  readonly loaded: RecordedFrame[];
  readonly emptyBefore: RecordedFrame | null;
}

/** Loaded frames in a row belong to one sit; an empty frame ends it. */
function split(frames: readonly RecordedFrame[]): Spell[] {
  const spells: Spell[] = [];
  let open: Spell | null = null;
  let empty: RecordedFrame | null = null;
  for (const frame of frames) {
    if (frame.seat === "empty") {
      empty = frame;
      open = null;
      continue;
    }
    if (open === null) {
      open = { loaded: [], emptyBefore: empty };
      spells.push(open);
    }
    open.loaded.push(frame);
    empty = null;
  }
  return spells;
}

/** An empty reading creeps over weeks: each day is held against its own, or the last one known. */
function dailyOffsets(frames: readonly RecordedFrame[]): ((at: Instant) => readonly number[]) | null {
  const overall = emptyOffsets(frames);
  if (overall === null) return null;
  const byDay = new Map<number, RecordedFrame[]>();
  for (const frame of frames) {
    const index = Math.floor(frame.at / day);
    const list = byDay.get(index);
    if (list) list.push(frame);
    else byDay.set(index, [frame]);
  }
  const known = new Map<number, readonly number[]>();
  let last: readonly number[] | null = null;
  for (const [index, list] of byDay) {
    last = emptyOffsets(list) ?? last;
    known.set(index, last ?? overall);
  }
  return (at) => known.get(Math.floor(at / day)) ?? overall;
}

function meanCounts(frames: readonly RecordedFrame[]): number[] {
  const sums = Array.from(frames[0]?.cells ?? [], () => 0);
  for (const frame of frames)
    for (let cell = 0; cell < sums.length; cell++) sums[cell] = (sums[cell] ?? 0) + (frame.cells[cell] ?? 0);
  return sums.map((sum) => sum / frames.length);
}
