import { median } from "../statistics/median.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import { type ShapeChange, shapeChanges, shapeMeasures } from "./shape-measures.ts";

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

/** Of one measure over the first sits: its middle, and one robust standard deviation. */
export interface UsualMeasure {
  readonly centre: number;
  readonly spread: number;
}

/** Deviations from the baseline at which a sit counts as changed, and sits in a row that must. Assumptions. */
const changedFrom = 3;
const fewestChanged = 6;

/** @param sits each with its measures by `shapeMeasures`; @returns the usual of each */
export const usualMeasures = (sits: readonly Float64Array[]): UsualMeasure[] =>
  shapeMeasures.map((_, place) => {
    const values = sits.map((measures) => measures[place] ?? 0);
    const centre = median(values) ?? 0;
    return { centre, spread: 1.4826 * (median(values.map((value) => Math.abs(value - centre))) ?? 0) };
  });

export interface ShapedSit {
  readonly at: Instant;
  readonly measures: Float64Array;
}

/** @param sits of one body since the baseline, oldest first */
export function loadShape(sits: readonly ShapedSit[], usual: readonly UsualMeasure[]): ShapeChanged[] {
  const found = shapeMeasures.flatMap((_, place) => changedBy(place, sits, usual[place]));
  // Of two signs of one fault the stronger is told.
  return shapeChanges.flatMap((change) => {
    const signs = found.filter((sign) => sign.change === change);
    return signs.sort((a, b) => b.probability - a.probability).slice(0, 1);
  });
}

function changedBy(
  place: number,
  sits: readonly ShapedSit[],
  usual: UsualMeasure | undefined,
): ShapeChanged[] {
  const measure = shapeMeasures[place];
  if (!measure || !usual) return [];
  const { centre, spread } = usual;
  // Lengths are measured in cells; shares and roughness as shares of what they were.
  const scale = measure.relative ? centre : 1;
  const least = Math.max(changedFrom * spread, measure.least * scale);
  const measured = ({ measures }: ShapedSit): number => measures[place] ?? 0;
  const changed = (value: number): boolean =>
    measure.direction === "either" ? Math.abs(value - centre) > least : value - centre > least;
  const stays = sits.findLastIndex((sit) => !changed(measured(sit)));
  const run = sits.slice(stays + 1);
  const [first] = run;
  if (first === undefined || run.length < fewestChanged || scale <= 0) return [];
  return [
    {
      change: measure.change,
      since: first.at,
      sits: run.length,
      before: centre,
      now: median(run.map(measured)) ?? centre,
      probability: probability(Math.min(measure.ceiling, 0.5 + 0.04 * run.length)),
    },
  ];
}
