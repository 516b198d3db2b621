import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import type { GridModel } from "./seat-load.ts";

/** What the firmware makes of one reading: kilograms, after its own offset table. */
export interface SeatSums {
  readonly total: number;
  readonly left: number;
  readonly right: number;
  readonly rear: number;
  readonly front: number;
  /** Per cent of half width and half depth; right and front positive; 0 where hardly anything presses. */
  readonly centreRight: number;
  readonly centreFront: number;
}

export function sumSeat(
  counts: Uint8Array,
  offsets: Float64Array,
  grid: GridModel,
  countsPerKilogram: number,
): SeatSums {
  const { rows, columns } = grid;
  let left = 0;
  let right = 0;
  let front = 0;
  let momentRight = 0;
  let momentFront = 0;
  for (let row = 0; row < rows; row += 1) {
    const towardsFront = 1 - (2 * row + 1) / rows;
    for (let column = 0; column < columns; column += 1) {
      const cell = row * columns + column;
      const kilograms = ((counts[cell] ?? 0) - (offsets[cell] ?? 0)) / countsPerKilogram;
      const towardsRight = (2 * column + 1) / columns - 1;
      if (towardsRight < 0) left += kilograms;
      else right += kilograms;
      if (towardsFront > 0) front += kilograms;
      momentRight += kilograms * towardsRight;
      momentFront += kilograms * towardsFront;
    }
  }
  const total = left + right;
  const meaningful = total > 5;
  return {
    total,
    left,
    right,
    front,
    rear: total - front,
    centreRight: meaningful ? percent(momentRight / total) : 0,
    centreFront: meaningful ? percent(momentFront / total) : 0,
  };
}

// Adding zero turns a negative zero, which has no wire form, into zero.
const percent = (share: number): number => Math.max(-100, Math.min(100, Math.round(share * 100))) + 0;

/** A lean counts from here: load gone from the relieved side, as a share of half the resting load. Half of the whole,
 *  not that side's own rest, so that somebody who always sits to one side isn't credited for the empty one. */
export const leanThreshold = 0.4;
const liftThreshold = 0.65;
const tiltThreshold = 0.22;
/** A lean moves the load; where hardly any arrives elsewhere it was a lift or a tilt. */
const stillOnSeat = 0.8;

export interface SeenRelief {
  readonly kind: ReliefKind;
  /** 0 to 1. */
  readonly depth: number;
}

/** Compares the seat now with the seat at rest, as the unit sees both. Knows nothing of what the person meant to do
 *  nor of what is broken: a line that reads nothing simply takes its share of the load out of both sums.
 *  @returns null when nothing that reaches a threshold happened. */
export function detectRelief(rest: SeatSums, now: SeatSums): SeenRelief | null {
  if (rest.total <= 0) return null;
  const half = rest.total / 2;
  const gone = 1 - now.total / rest.total;
  if (gone >= liftThreshold) return { kind: "lift", depth: Math.min(1, gone) };
  const offLeft = (rest.left - now.left) / half;
  const offRight = (rest.right - now.right) / half;
  const offRear = (rest.rear - now.rear) / half;
  const sideways = Math.max(offLeft, offRight);
  if (sideways >= leanThreshold && now.total >= stillOnSeat * rest.total - half * sideways) {
    const balanced = Math.abs(offLeft - offRight) < 0.25;
    if (!balanced) {
      return { kind: offRight > offLeft ? "lean-left" : "lean-right", depth: Math.min(1, sideways) };
    }
  }
  if (gone >= tiltThreshold && now.centreFront < rest.centreFront - 3) {
    return { kind: "tilt", depth: Math.min(1, gone) };
  }
  if (offRear >= leanThreshold && now.centreFront > rest.centreFront + 8) {
    return { kind: "lean-forward", depth: Math.min(1, offRear) };
  }
  return null;
}

/** A slow average of the resting seat: a relief stands out against the last several minutes. */
export function blended(rest: SeatSums, now: SeatSums): SeatSums {
  const mix = (a: number, b: number): number => a + 0.25 * (b - a);
  return {
    total: mix(rest.total, now.total),
    left: mix(rest.left, now.left),
    right: mix(rest.right, now.right),
    rear: mix(rest.rear, now.rear),
    front: mix(rest.front, now.front),
    centreRight: mix(rest.centreRight, now.centreRight),
    centreFront: mix(rest.centreFront, now.centreFront),
  };
}
