import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";

export interface GridModel {
  readonly rows: number;
  readonly columns: number;
  readonly pitchMillimetres: number;
}

/** Kilograms on each of the four things that press: sit bones and thighs, left and right as the person sits. */
export interface SeatLoad {
  readonly leftBone: number;
  readonly leftThigh: number;
  readonly rightBone: number;
  readonly rightThigh: number;
}

/** About a fifth of body weight goes to footrests, armrests and backrest (common practice, no source). */
const shareOnSeat = 0.78;
/** Of one side's load, what the sit bone carries on a level seat; the thigh carries the rest (our own choice). */
const boneShare = 0.66;

export function restingLoad(weightKilograms: number, leftOverRight: number): SeatLoad {
  const onSeat = weightKilograms * shareOnSeat;
  const left = (onSeat * leftOverRight) / (1 + leftOverRight);
  const right = onSeat - left;
  return {
    leftBone: left * boneShare,
    leftThigh: left * (1 - boneShare),
    rightBone: right * boneShare,
    rightThigh: right * (1 - boneShare),
  };
}

/** Moves the load as a relief of this kind and depth does. Leaning left takes the load off the RIGHT side and puts it
 *  on the left; leaning forward takes it off the sit bones and puts part of it on the thighs and feet; a lift takes it
 *  off altogether; tilting moves part of it to the backrest. */
export function relieved(load: SeatLoad, kind: ReliefKind, depth: number): SeatLoad {
  const kept = 1 - depth;
  switch (kind) {
    case "lean-left":
      return {
        leftBone: load.leftBone + load.rightBone * depth,
        leftThigh: load.leftThigh + load.rightThigh * depth,
        rightBone: load.rightBone * kept,
        rightThigh: load.rightThigh * kept,
      };
    case "lean-right":
      return {
        leftBone: load.leftBone * kept,
        leftThigh: load.leftThigh * kept,
        rightBone: load.rightBone + load.leftBone * depth,
        rightThigh: load.rightThigh + load.leftThigh * depth,
      };
    case "lean-forward":
      return {
        leftBone: load.leftBone * kept,
        leftThigh: load.leftThigh + load.leftBone * depth * 0.7,
        rightBone: load.rightBone * kept,
        rightThigh: load.rightThigh + load.rightBone * depth * 0.7,
      };
    case "lift":
      return scaled(load, kept, kept);
    case "tilt":
      return scaled(load, 1 - 0.55 * depth, 1 - 0.9 * depth);
  }
}

const scaled = (load: SeatLoad, bones: number, thighs: number): SeatLoad => ({
  leftBone: load.leftBone * bones,
  leftThigh: load.leftThigh * thighs,
  rightBone: load.rightBone * bones,
  rightThigh: load.rightThigh * thighs,
});

/** How one kilogram of each part spreads over the cells: four arrays, each adding up to at most 1. */
export interface Footprint {
  readonly leftBone: Float64Array;
  readonly leftThigh: Float64Array;
  readonly rightBone: Float64Array;
  readonly rightThigh: Float64Array;
}

/** Sit bones about 120 mm apart and three quarters of the way back; thighs run forward and apart (our own choice).
 *  @param shiftMillimetres how far right of the middle the person sat down this time */
export function footprint(grid: GridModel, shiftMillimetres: number): Footprint {
  const depthMillimetres = grid.rows * grid.pitchMillimetres;
  const bone = { across: 60, along: 0.74 * depthMillimetres, sigmaAcross: 33, sigmaAlong: 36 };
  const thigh = { across: 84, along: 0.36 * depthMillimetres, sigmaAcross: 40, sigmaAlong: 95 };
  return {
    leftBone: patch(grid, { ...bone, across: shiftMillimetres - bone.across }),
    leftThigh: patch(grid, { ...thigh, across: shiftMillimetres - thigh.across }),
    rightBone: patch(grid, { ...bone, across: shiftMillimetres + bone.across }),
    rightThigh: patch(grid, { ...thigh, across: shiftMillimetres + thigh.across }),
  };
}

interface Blob {
  readonly across: number;
  readonly along: number;
  readonly sigmaAcross: number;
  readonly sigmaAlong: number;
}

function patch(grid: GridModel, blob: Blob): Float64Array {
  const cells = new Float64Array(grid.rows * grid.columns);
  let total = 0;
  for (let row = 0; row < grid.rows; row += 1) {
    for (let column = 0; column < grid.columns; column += 1) {
      const across = (column + 0.5 - grid.columns / 2) * grid.pitchMillimetres - blob.across;
      const along = (row + 0.5) * grid.pitchMillimetres - blob.along;
      const weight = Math.exp(-0.5 * ((across / blob.sigmaAcross) ** 2 + (along / blob.sigmaAlong) ** 2));
      cells[row * grid.columns + column] = weight;
      total += weight;
    }
  }
  return cells.map((weight) => weight / total);
}
