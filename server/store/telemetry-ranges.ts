import { maximumHolesPerBoot } from "../../firmware-protocol/src/limits.ts";

/** A run of sequence numbers, both ends included. */
export interface SequenceRange {
  readonly from: number;
  readonly to: number;
}

export interface ReceivedUpTo {
  readonly through: number;
  readonly holes: readonly (readonly [from: number, to: number])[];
}

/** The same numbers as maximal runs, in order, neither touching nor overlapping. */
export function mergeRanges(ranges: readonly SequenceRange[]): SequenceRange[] {
  const merged: SequenceRange[] = [];
  for (const range of ranges.toSorted((a, b) => a.from - b.from)) {
    const last = merged.at(-1);
    if (last === undefined || range.from > last.to + 1) merged.push(range);
    else if (range.to > last.to) merged[merged.length - 1] = { from: last.from, to: range.to };
  }
  return merged;
}

/** What a receipt may say of `ranges` (merged, in order, not empty): everything up to `through` is stored, save the
 *  holes. With more holes than fit, `through` ends before the first that isn't listed, so that it stays true. */
export function receivedUpTo(ranges: readonly SequenceRange[]): ReceivedUpTo | null {
  const holes: (readonly [number, number])[] = [];
  let through = -1;
  for (const { from, to } of ranges) {
    if (from > through + 1) {
      if (holes.length === maximumHolesPerBoot) break;
      holes.push([through + 1, from - 1]);
    }
    through = to;
  }
  return through < 0 ? null : { through, holes };
}
