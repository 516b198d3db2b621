import type { RecordedFrame } from "../record/unit-record.ts";
import type { Instant } from "../units.ts";

/** One time somebody sat, from sitting down to getting up, averaged: frames of one sit repeat each other, so a sit
 *  counts once however many frames it has. */
export interface Sit {
  readonly at: Instant;
  /** Mean counts while loaded. */
  readonly counts: Float64Array;
  /** Mean counts above what was empty at that time. */
  readonly response: Float64Array;
  /** The last empty frame before it, where one came directly before. */
  readonly emptyBefore: Uint8Array | null;
}

/** Empty frames that give a day an empty reading of its own; a day with fewer takes the last one known. Assumption. */
const fewestEmpty = 3;

/** What each cell reads with nobody on it: the median over a day's empty frames, so that one odd frame doesn't move it.
 *  An empty reading creeps over weeks: each day is held against its own, or the last one known.
 *  @param frames of one day and one shape; loaded ones are passed over
 *  @param known what the days before say
 *  @returns counts; null where the seat was never seen empty */
export function emptyOffsets(
  frames: readonly RecordedFrame[],
  known: Float32Array | null,
): Float32Array | null {
  const empty = frames.filter(({ seat }) => seat === "empty");
  const [first] = empty;
  if (first === undefined || (empty.length < fewestEmpty && known !== null)) return known;
  const column = new Uint8Array(empty.length);
  return Float32Array.from(first.cells, (_, cell) => {
    for (let frame = 0; frame < empty.length; frame++) column[frame] = empty[frame]?.cells[cell] ?? 0;
    return middleOf(column);
  });
}

function middleOf(values: Uint8Array): number {
  values.sort();
  const middle = values.length >> 1;
  const upper = values[middle] ?? 0;
  return values.length % 2 === 1 ? upper : ((values[middle - 1] ?? 0) + upper) / 2;
}

/** @param frames of one day and one shape, oldest first: a sit that lasts past midnight is a sit of either day
 *  @returns sits oldest first */
export function sitsIn(frames: readonly RecordedFrame[], offsets: Float32Array): Sit[] {
  return split(frames).flatMap(({ loaded, emptyBefore }) => {
    const [first] = loaded;
    if (first === undefined) return [];
    const counts = meanCounts(loaded);
    const response = counts.map((count, cell) => count - (offsets[cell] ?? 0));
    return [{ at: first.at, counts, response, emptyBefore: emptyBefore?.cells ?? null }];
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

function meanCounts(frames: readonly RecordedFrame[]): Float64Array {
  const sums = new Float64Array(frames[0]?.cells.length ?? 0);
  for (const { cells } of frames)
    for (let cell = 0; cell < sums.length; cell++) sums[cell] = (sums[cell] ?? 0) + (cells[cell] ?? 0);
  return sums.map((sum) => sum / frames.length);
}
