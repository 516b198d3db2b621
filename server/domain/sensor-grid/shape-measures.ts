import type { GridShape } from "./expected-response.ts";

export const shapeChanges = ["insert-shifted", "insert-folded", "foam-bottoming", "cover-loose"] as const;
export type ShapeChange = (typeof shapeChanges)[number];

interface ShapeMeasure {
  readonly change: ShapeChange;
  readonly of: (map: Float64Array, shape: GridShape) => number;
  /** Which way a fault moves it, and by how much at the least to matter (`scatter`: it comes out otherwise each sit): in cells, or as a share of what it was. */
  readonly direction: "either" | "up" | "scatter";
  readonly least: number;
  readonly relative: boolean;
  readonly ceiling: number;
}

/** Ceilings are low: a body can do most of this by itself. Assumptions. */
export const shapeMeasures: readonly ShapeMeasure[] = [
  // More than half a cell to the side or to the front.
  {
    change: "insert-shifted",
    of: sidewaysOf,
    direction: "either",
    least: 0.6,
    relative: false,
    ceiling: 0.8,
  },
  {
    change: "insert-shifted",
    of: lengthwaysOf,
    direction: "either",
    least: 0.6,
    relative: false,
    ceiling: 0.8,
  },
  { change: "insert-folded", of: doubledEdge, direction: "up", least: 0.03, relative: false, ceiling: 0.8 },
  // Where the foam gives out, the peaks under the sit bones take more of the whole.
  { change: "foam-bottoming", of: peakShare, direction: "up", least: 0.25, relative: true, ceiling: 0.8 },
  // Wrinkles lie otherwise in every sit, where a body makes neighbouring cells differ alike.
  { change: "cover-loose", of: roughness, direction: "scatter", least: 0.08, relative: true, ceiling: 0.7 },
];

/** @param response counts above empty; @returns one number for each of `shapeMeasures` */
export function measuresOf(response: Float64Array, shape: GridShape): Float64Array {
  const map = response.map((count) => Math.max(0, count));
  return Float64Array.from(shapeMeasures, ({ of }) => of(map, shape));
}

/** Centre of the load, in cells from the middle. */
function sidewaysOf(map: Float64Array, { columns }: GridShape): number {
  return centreOf(map, (cell) => (cell % columns) - (columns - 1) / 2);
}

function lengthwaysOf(map: Float64Array, { rows, columns }: GridShape): number {
  return centreOf(map, (cell) => Math.floor(cell / columns) - (rows - 1) / 2);
}

function centreOf(map: Float64Array, place: (cell: number) => number): number {
  let whole = 0;
  let moment = 0;
  map.forEach((count, cell) => {
    whole += count;
    moment += count * place(cell);
  });
  return whole > 0 ? moment / whole : 0;
}

/** An edge line this near to the one inside it reads as if it lay on the same place; and the next must carry this share of
 *  the load, or there is nothing to double. Assumptions. */
const alike = 0.8;
const worthDoubling = 0.03;

/** Folded under, an edge lies below the line inside it: both feel the same place, and the ridge takes more of the load.
 *  The most that any of the four edges carries so, as a share of the whole. */
function doubledEdge(map: Float64Array, { rows, columns }: GridShape): number {
  const row = new Float64Array(rows);
  const column = new Float64Array(columns);
  let whole = 0;
  map.forEach((count, cell) => {
    const [atRow, atColumn] = [Math.floor(cell / columns), cell % columns];
    row[atRow] = (row[atRow] ?? 0) + count;
    column[atColumn] = (column[atColumn] ?? 0) + count;
    whole += count;
  });
  if (whole <= 0) return 0;
  const doubled = (lines: Float64Array, edge: number, inwards: number): number => {
    const [outer = 0, inside = 0, next = 0] = [edge, edge + inwards, edge + 2 * inwards].map(
      (index) => lines[index],
    );
    return outer >= alike * inside && next >= worthDoubling * whole ? (outer + inside) / whole : 0;
  };
  return Math.max(
    doubled(row, 0, 1),
    doubled(row, rows - 1, -1),
    doubled(column, 0, 1),
    doubled(column, columns - 1, -1),
  );
}

/** Of the whole load, the share on the most loaded twentieth of the cells. */
function peakShare(map: Float64Array): number {
  const sorted = map.toSorted();
  const whole = sorted.reduce((sum, count) => sum + count, 0);
  const most = sorted.subarray(sorted.length - Math.max(2, Math.round(sorted.length / 20)));
  return whole > 0 ? most.reduce((sum, count) => sum + count, 0) / whole : 0;
}

/** How far a cell differs from the mean of those beside it along its row, over all, as a share of the load. */
function roughness(map: Float64Array, { columns }: GridShape): number {
  let off = 0;
  let whole = 0;
  map.forEach((count, cell) => {
    const column = cell % columns;
    whole += count;
    if (column === 0 || column === columns - 1) return;
    off += Math.abs(count - ((map[cell - 1] ?? 0) + (map[cell + 1] ?? 0)) / 2);
  });
  return whole > 0 ? off / whole : 0;
}
