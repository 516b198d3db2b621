import type { LeanDirection } from "../condition/condition.ts";
import type { GridShape } from "./expected-response.ts";
import { perShape } from "./per-shape.ts";

/** When a unit reports a lean, by the firmware protocol: load gone from the relieved half, as a share of half the
 *  resting total. A forward lean must also move the centre of pressure forward.
 *  Source: firmware-protocol/SPEC.md [FP-5.29] and [FP-5.31]. */
const leanShare = 0.4;
const forwardShiftPercent = 8;

export interface SeatSums {
  readonly left: number;
  readonly right: number;
  readonly front: number;
  readonly rear: number;
  readonly total: number;
  /** Centre of pressure, per cent of the half depth, front positive. */
  readonly centreFront: number;
}

/** @param response counts above empty, row by row, front row first */
export function seatSums(response: Float64Array, shape: GridShape): SeatSums {
  const { towardsFront, isLeft } = placesOf(shape);
  let left = 0;
  let front = 0;
  let total = 0;
  let moment = 0;
  for (let cell = 0; cell < response.length; cell++) {
    const count = response[cell] ?? 0;
    const forward = towardsFront[cell] ?? 0;
    total += count;
    moment += count * forward;
    if (isLeft[cell] === 1) left += count;
    if (forward > 0) front += count;
  }
  const centreFront = total > 0 ? (100 * moment) / total : 0;
  return { left, right: total - left, front, rear: total - front, total, centreFront };
}

/** Of each cell: how far in front of the middle it lies, as a share of the half depth, and whether in the left half. */
const placesOf = perShape(({ rows, columns }) => ({
  towardsFront: Float64Array.from(
    { length: rows * columns },
    (_, cell) => 1 - (2 * Math.floor(cell / columns) + 1) / rows,
  ),
  isLeft: Uint8Array.from({ length: rows * columns }, (_, cell) =>
    (2 * (cell % columns) + 1) / columns < 1 ? 1 : 0,
  ),
}));

export function wouldReport(direction: LeanDirection, rest: SeatSums, now: SeatSums): boolean {
  if (rest.total <= 0) return false;
  const half = rest.total / 2;
  switch (direction) {
    case "left":
      return (rest.right - now.right) / half >= leanShare;
    case "right":
      return (rest.left - now.left) / half >= leanShare;
    case "forward":
      return (
        (rest.rear - now.rear) / half >= leanShare && now.centreFront - rest.centreFront > forwardShiftPercent
      );
  }
}
