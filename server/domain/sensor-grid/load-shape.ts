import { median } from "../statistics/median.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import type { Sit } from "./sits.ts";

export const shapeChanges = ["insert-shifted", "insert-folded", "foam-bottoming", "cover-loose"] as const;
export type ShapeChange = (typeof shapeChanges)[number];

/** The load lies otherwise than it used to, and stays so. */
export interface ShapeChanged {
  readonly change: ShapeChange;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sits: number;
  /** What was measured: in its first sits, and since. */
  readonly before: number;
  readonly now: number;
}

interface Measure {
  readonly change: ShapeChange;
  readonly of: (response: readonly number[], shape: GridShape) => number;
  /** Which way a fault moves it, and by how much at the least to matter. */
  readonly direction: "either" | "up";
  readonly least: number;
  readonly ceiling: number;
}

/** Ceilings are low: a body can do most of this by itself. Assumptions. */
const measures: readonly Measure[] = [
  // In cells: half a cell to the side or to the front.
  { change: "insert-shifted", of: sidewaysOf, direction: "either", least: 0.6, ceiling: 0.8 },
  { change: "insert-shifted", of: lengthwaysOf, direction: "either", least: 0.6, ceiling: 0.8 },
  { change: "insert-folded", of: doubledEdge, direction: "up", least: 0.12, ceiling: 0.8 },
  // Where the foam gives out, the peaks under the sit bones take more of the whole.
  { change: "foam-bottoming", of: peakShare, direction: "up", least: 0.25, ceiling: 0.8 },
  // Wrinkles: neighbouring cells differ more than a body makes them.
  { change: "cover-loose", of: roughness, direction: "up", least: 0.3, ceiling: 0.7 },
];

const baselineSits = 20;
const fewestBaseline = 8;
/** Deviations from the baseline at which a sit counts as changed, and sits in a row that must. Assumptions. */
const changedFrom = 3;
const fewestChanged = 6;

/** @param sits oldest first, of one body; @param works false for cells known to be broken */
export function loadShape(
  sits: readonly Sit[],
  shape: GridShape,
  works: (cell: number) => boolean,
): ShapeChanged[] {
  const maps = sits.map(({ response }) =>
    response.map((count, cell) => (works(cell) ? Math.max(0, count) : 0)),
  );
  const size = Math.min(baselineSits, Math.floor(maps.length * 0.6));
  if (size < fewestBaseline) return [];
  const found = measures.flatMap((measure) => changedBy(measure, sits, maps, size, shape));
  // Of two signs of one fault the stronger is told.
  return shapeChanges.flatMap((change) => {
    const signs = found.filter((sign) => sign.change === change);
    return signs.sort((a, b) => b.probability - a.probability).slice(0, 1);
  });
}

function changedBy(
  measure: Measure,
  sits: readonly Sit[],
  maps: readonly (readonly number[])[],
  size: number,
  shape: GridShape,
): ShapeChanged[] {
  const values = maps.map((map) => measure.of(map, shape));
  const base = values.slice(0, size);
  const centre = median(base) ?? 0;
  const spread = 1.4826 * (median(base.map((value) => Math.abs(value - centre))) ?? 0);
  // Lengths are measured in cells; shares and roughness as shares of what they were.
  const scale = measure.change === "insert-shifted" || measure.change === "insert-folded" ? 1 : centre;
  const least = Math.max(changedFrom * spread, measure.least * scale);
  const changed = (value: number): boolean =>
    measure.direction === "either" ? Math.abs(value - centre) > least : value - centre > least;
  let run = 0;
  while (run < values.length - size && changed(values[values.length - 1 - run] ?? centre)) run++;
  const since = sits[sits.length - run]?.at;
  if (run < fewestChanged || since === undefined || scale <= 0) return [];
  return [
    {
      change: measure.change,
      since,
      sits: run,
      before: centre,
      now: median(values.slice(-run)) ?? centre,
      probability: probability(Math.min(measure.ceiling, 0.5 + 0.04 * run)),
    },
  ];
}

/** Centre of the load, in cells from the middle. */
function sidewaysOf(map: readonly number[], { columns }: GridShape): number {
  return centreOf(map, (cell) => (cell % columns) - (columns - 1) / 2);
}

function lengthwaysOf(map: readonly number[], { rows, columns }: GridShape): number {
  return centreOf(map, (cell) => Math.floor(cell / columns) - (rows - 1) / 2);
}

function centreOf(map: readonly number[], place: (cell: number) => number): number {
  let whole = 0;
  let moment = 0;
  map.forEach((count, cell) => {
    whole += count;
    moment += count * place(cell);
  });
  return whole > 0 ? moment / whole : 0;
}

/** Folded under, an edge lies on the line inside it: that line then stands out beside a silent edge. The largest such
 *  step at any of the four edges, as a share of the whole load. */
function doubledEdge(map: readonly number[], { rows, columns }: GridShape): number {
  const sum = (pick: (cell: number) => boolean): number =>
    map.reduce((total, count, cell) => total + (pick(cell) ? count : 0), 0);
  const whole = sum(() => true);
  if (whole <= 0) return 0;
  const row = (index: number) => sum((cell) => Math.floor(cell / columns) === index);
  const column = (index: number) => sum((cell) => cell % columns === index);
  const step = (edge: number, inside: number, next: number): number =>
    edge < 0.02 * inside ? Math.max(0, inside - next) / whole : 0;
  return Math.max(
    step(row(0), row(1), row(2)),
    step(row(rows - 1), row(rows - 2), row(rows - 3)),
    step(column(0), column(1), column(2)),
    step(column(columns - 1), column(columns - 2), column(columns - 3)),
  );
}

/** Of the whole load, the share on the most loaded twentieth of the cells. */
function peakShare(map: readonly number[]): number {
  const sorted = [...map].sort((a, b) => b - a);
  const whole = sorted.reduce((sum, count) => sum + count, 0);
  const most = sorted.slice(0, Math.max(2, Math.round(sorted.length / 20)));
  return whole > 0 ? most.reduce((sum, count) => sum + count, 0) / whole : 0;
}

/** How far a cell differs from the mean of those beside it along its row, over all, as a share of the load. */
function roughness(map: readonly number[], { columns }: GridShape): number {
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
