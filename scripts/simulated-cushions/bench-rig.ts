import { footprint, type GridModel, type SeatLoad } from "./seat-load.ts";

/** What lies on a cushion that lies on a bench. Places are millimetres from the middle: right and front are positive. */
export type RigLoad =
  | { readonly kind: "nothing" }
  | { readonly kind: "plate"; readonly kilograms: number }
  | { readonly kind: "weight"; readonly kilograms: number; readonly right: number; readonly front: number }
  /** A loading form in the shape of a seated body. */
  | { readonly kind: "seat"; readonly load: SeatLoad };

/** A weight stands on a soft foot about as wide as a hand (our own choice). */
const footSigmaMillimetres = 45;

/** @returns kilograms on each cell, row by row from the front left */
export function kilogramsPerCell(grid: GridModel, load: RigLoad): Float64Array {
  const cells = grid.rows * grid.columns;
  switch (load.kind) {
    case "nothing":
      return new Float64Array(cells);
    case "plate":
      return new Float64Array(cells).fill(load.kilograms / cells);
    case "weight":
      return weightOn(grid, load);
    case "seat": {
      const print = footprint(grid, 0);
      const { leftBone, leftThigh, rightBone, rightThigh } = load.load;
      return Float64Array.from(
        { length: cells },
        (_, cell) =>
          leftBone * (print.leftBone[cell] ?? 0) +
          leftThigh * (print.leftThigh[cell] ?? 0) +
          rightBone * (print.rightBone[cell] ?? 0) +
          rightThigh * (print.rightThigh[cell] ?? 0),
      );
    }
  }
}

function weightOn(grid: GridModel, load: Extract<RigLoad, { kind: "weight" }>): Float64Array {
  const { rows, columns, pitchMillimetres } = grid;
  let total = 0;
  const spread = Float64Array.from({ length: rows * columns }, (_, cell) => {
    const right = ((cell % columns) - (columns - 1) / 2) * pitchMillimetres;
    const front = ((rows - 1) / 2 - Math.floor(cell / columns)) * pitchMillimetres;
    const off = ((right - load.right) ** 2 + (front - load.front) ** 2) / footSigmaMillimetres ** 2;
    const weight = Math.exp(-0.5 * off);
    total += weight;
    return weight;
  });
  return spread.map((weight) => (weight / total) * load.kilograms);
}
