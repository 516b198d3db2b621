import type { GridBaseline } from "../domain/sensor-grid/grid-baseline.ts";
import type { GridDay, KeptMap, SitOfDay } from "../domain/sensor-grid/grid-day.ts";
import { instant } from "../domain/units.ts";
import { type ArrayReader, joined, rowsOf } from "./array-bytes.ts";

type Formed = Extract<GridBaseline, { readonly kind: "formed" }>;

/** What is no row of numbers, and how many there are of what is. */
export interface GridDayText
  extends Omit<GridDay, "sits" | "maps" | "offsets" | "empty" | "flicker" | "baseline"> {
  readonly sits: number;
  /** The first of them, told while the baseline was forming: they have no gains. */
  readonly formingSits: number;
  readonly maps: readonly Pick<KeptMap, "at" | "leastEmpty">[];
  readonly hasOffsets: boolean;
  readonly empty: Omit<GridDay["empty"], "counts">;
  readonly flicker: Omit<GridDay["flicker"], "steps" | "squares">;
  /** Of a baseline that is forming its sits. */
  readonly baseline: { readonly formingSits: number } | Pick<Formed, "ways" | "usual">;
}

const formingSitsOf = ({ sits }: GridDay): number => {
  const formed = sits.findIndex(({ gains }) => gains !== null);
  return formed === -1 ? sits.length : formed;
};

export function gridText(grid: GridDay): GridDayText {
  const { sits, maps, offsets, empty, flicker, baseline, ...rest } = grid;
  const { counts: _counts, ...emptyRest } = empty;
  const { steps: _steps, squares: _squares, ...flickerRest } = flicker;
  return {
    ...rest,
    sits: sits.length,
    formingSits: formingSitsOf(grid),
    maps: maps.map(({ at, leastEmpty }) => ({ at, leastEmpty })),
    hasOffsets: offsets !== null,
    empty: emptyRest,
    flicker: flickerRest,
    baseline:
      baseline.kind === "forming"
        ? { formingSits: baseline.sits.length }
        : { ways: baseline.ways, usual: baseline.usual },
  };
}

/** A row for each sit, map, sit of a forming baseline; then what there is one of. */
export function gridArrays({ sits, maps, offsets, empty, flicker, baseline }: GridDay): ArrayBufferView[] {
  const formed = baseline.kind === "formed" ? [baseline] : [];
  const forming = baseline.kind === "forming" ? baseline.sits : [];
  return [
    Float64Array.from(sits, ({ at }) => at),
    joined(sits.map(({ lines }) => lines)),
    joined(sits.map(({ carried }) => carried)),
    joined(sits.map(({ noisy }) => noisy)),
    joined(sits.map(({ pairs }) => pairs)),
    joined(sits.map(({ cells }) => cells)),
    joined(sits.map(({ measures }) => measures)),
    joined(sits.flatMap(({ gains }) => gains ?? [])),
    joined(maps.map(({ response }) => response)),
    joined(maps.map(({ counts }) => counts)),
    ...(offsets === null ? [] : [offsets]),
    empty.counts,
    flicker.steps,
    flicker.squares,
    ...formed.flatMap(({ mean, sides }) => [mean, sides]),
    ...forming.flatMap(({ map, measures }) => [map, measures]),
  ];
}

/** Asks for the arrays in the order of `gridArrays`. */
export function gridOf(text: GridDayText, read: ArrayReader): GridDay {
  const { formingSits, hasOffsets, ...rest } = text;
  return {
    ...rest,
    sits: sitsOf(text, read),
    maps: mapsOf(text, read),
    offsets: hasOffsets ? read.float32() : null,
    empty: { ...text.empty, counts: read.float64() },
    flicker: { ...text.flicker, steps: read.float64(), squares: read.float64() },
    baseline: baselineOf(text.baseline, read),
  };
}

function sitsOf({ sits, formingSits }: GridDayText, read: ArrayReader): SitOfDay[] {
  const at = read.float64();
  const lines = rowsOf(read.uint8(), sits);
  const carried = rowsOf(read.float32(), sits);
  const noisy = rowsOf(read.float32(), sits);
  const pairs = rowsOf(read.uint8(), sits);
  const cells = rowsOf(read.uint8(), sits);
  const measures = rowsOf(read.float64(), sits);
  const gains = rowsOf(read.float64(), sits - formingSits);
  return Array.from(at, (moment, sit) => ({
    at: instant(moment),
    lines: lines(sit),
    carried: carried(sit),
    noisy: noisy(sit),
    pairs: pairs(sit),
    cells: cells(sit),
    measures: measures(sit),
    gains: sit < formingSits ? null : gains(sit - formingSits),
  }));
}

function mapsOf({ maps }: GridDayText, read: ArrayReader): KeptMap[] {
  const response = rowsOf(read.int16(), maps.length);
  const counts = rowsOf(read.int16(), maps.length);
  return maps.map((map, index) => ({ ...map, response: response(index), counts: counts(index) }));
}

function baselineOf(text: GridDayText["baseline"], read: ArrayReader): GridBaseline {
  if ("ways" in text) return { kind: "formed", mean: read.float32(), sides: read.float32(), ...text };
  const sits = Array.from({ length: text.formingSits }, () => ({
    map: read.float32(),
    measures: read.float64(),
  }));
  return { kind: "forming", sits };
}
