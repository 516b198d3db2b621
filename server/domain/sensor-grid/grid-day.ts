import type { RecordedFrame } from "../record/unit-record.ts";
import type { Instant } from "../units.ts";
import type { GridShape } from "./expected-response.ts";
import { type GridBaseline, newBaseline, withSit } from "./grid-baseline.ts";
import { normalised, placingGains } from "./insert-placing.ts";
import { usualEmpty } from "./moisture-patch.ts";
import { type Flicker, flickerOf, noFlicker } from "./quiet-lines.ts";
import { type EmptyLook, emptyLook } from "./raised-patch.ts";
import { measuresOf } from "./shape-measures.ts";
import { readingOf, type SitReading } from "./sit-reading.ts";
import { emptyOffsets, type Sit, sitsIn } from "./sits.ts";

/** What a grid said in one day: all that later days need to know of it, so that no frame is looked at twice. */
export interface GridDay extends GridShape {
  readonly sits: readonly SitOfDay[];
  /** The last sits of the day as maps: for leans to be replayed on. */
  readonly maps: readonly KeptMap[];
  /** Counts with nobody on it: the day's own, or the last known; null: never seen empty. */
  readonly offsets: Float32Array | null;
  readonly frames: { readonly loaded: number; readonly empty: number };
  readonly empty: EmptySums;
  readonly looks: readonly EmptyLook[];
  readonly flicker: Flicker;
  /** As it stood at the end of the day. */
  readonly baseline: GridBaseline;
}

export interface SitOfDay extends SitReading {
  readonly measures: Float64Array;
  /** By `wrongPlacings`; null while the baseline was forming. */
  readonly gains: Float64Array | null;
}

export interface KeptMap {
  readonly at: Instant;
  /** Sixteenths of a count, above empty. */
  readonly response: Int16Array;
  /** What each cell read, in sixteenths, and the least that any read empty before it. */
  readonly counts: Int16Array;
  readonly leastEmpty: number;
}

/** Whole numbers, so that they add up the same in any order: counts, tenths of a degree. */
export interface EmptySums {
  readonly frames: number;
  /** Of each cell over the day's empty frames. */
  readonly counts: Float64Array;
  readonly tenths: number;
  readonly squaredTenths: number;
  /** Tenths of a degree times the sum of all cells. */
  readonly tenthsByCounts: number;
}

const keptMaps = 3;
const usualDays = 7;
const sixteenths = 16;

/** @param frames of one day, oldest first; those of another shape than the last are passed over
 *  @param earlier days of the same grid since it was last changed, oldest first
 *  @returns null of no frames */
export function gridDay(frames: readonly RecordedFrame[], earlier: readonly GridDay[]): GridDay | null {
  const shape = frames.at(-1);
  if (shape === undefined) return null;
  const { rows, columns } = shape;
  const same = (other: GridShape): boolean => other.rows === rows && other.columns === columns;
  const ofShape = frames.filter(same);
  const before = earlier.filter(same);
  const yesterday = before.at(-1);
  const empty = ofShape.filter(({ seat }) => seat === "empty");
  const offsets = emptyOffsets(empty, yesterday?.offsets ?? null);
  const usual = usualEmpty(
    before
      .filter((each) => each.frames.empty > 0)
      .slice(-usualDays)
      .flatMap((each) => each.offsets ?? []),
  );
  const sits = offsets === null ? [] : sitsIn(ofShape, offsets);
  const told = tellSits(sits, yesterday?.baseline ?? newBaseline, { rows, columns });
  return {
    rows,
    columns,
    ...told,
    maps: sits.slice(-keptMaps).map(keptMap),
    offsets,
    frames: { loaded: ofShape.length - empty.length, empty: empty.length },
    empty: emptySums(empty, rows * columns),
    looks: usual === null ? [] : empty.map((frame) => emptyLook(frame, usual, shape)),
    flicker: offsets === null ? noFlicker : flickerOf(ofShape, offsets, shape),
  };
}

function tellSits(
  sits: readonly Sit[],
  carried: GridBaseline,
  shape: GridShape,
): { readonly sits: SitOfDay[]; readonly baseline: GridBaseline } {
  let baseline = carried;
  const told = sits.map((sit): SitOfDay => {
    const map = normalised(sit.response);
    const measures = measuresOf(sit.response, shape);
    const gains = baseline.kind === "formed" ? placingGains(map, baseline, shape) : null;
    if (baseline.kind === "forming") baseline = withSit(baseline.sits, { map, measures }, shape);
    return { ...readingOf(sit, shape), measures, gains };
  });
  return { sits: told, baseline };
}

const keptMap = ({ at, counts, response, emptyBefore }: Sit): KeptMap => ({
  at,
  response: Int16Array.from(response, (count) => Math.round(sixteenths * count)),
  counts: Int16Array.from(counts, (count) => Math.round(sixteenths * count)),
  leastEmpty: emptyBefore === null ? 0 : emptyBefore.reduce((least, count) => Math.min(least, count), 255),
});

export const responseOf = ({ response }: KeptMap): Float64Array =>
  Float64Array.from(response, (count) => count / sixteenths);
export const countsOf = ({ counts }: KeptMap): Float64Array =>
  Float64Array.from(counts, (count) => count / sixteenths);

function emptySums(empty: readonly RecordedFrame[], cells: number): EmptySums {
  const counts = new Float64Array(cells);
  let tenths = 0;
  let squaredTenths = 0;
  let tenthsByCounts = 0;
  for (const frame of empty) {
    const warmth = Math.round(10 * frame.temperature);
    let whole = 0;
    for (let cell = 0; cell < cells; cell++) {
      const count = frame.cells[cell] ?? 0;
      counts[cell] = (counts[cell] ?? 0) + count;
      whole += count;
    }
    tenths += warmth;
    squaredTenths += warmth ** 2;
    tenthsByCounts += warmth * whole;
  }
  return { frames: empty.length, counts, tenths, squaredTenths, tenthsByCounts };
}
