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

/** Sits that must have gone by since, how much of a sit one odd posture may decide, and how often an insert, foam or cover
 *  changes in the time looked at. Assumptions. */
const fewestChanged = 6;
const mostOneSitSays = 3;
const prior = 0.002;
/** A shift looked for is at least so many spreads: the baseline's own centre is only known to a quarter of one. */
const leastSpreads = { up: 1.5, either: 1.5, scatter: 4 };

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
  const { centre } = usual;
  // Lengths are measured in cells; shares and roughness as shares of what they were.
  const scale = measure.relative ? centre : 1;
  if (scale <= 0) return [];
  const least = measure.least * scale;
  const values = sits.map(({ measures }) => measures[place] ?? 0);
  const spread = Math.max(usual.spread, least / 20);
  const ways = measure.direction === "either" ? [1, -1] : [1];
  return ways.flatMap((way) => {
    const moved = values.map((value) =>
      measure.direction === "scatter" ? Math.abs(value - centre) : way * (value - centre),
    );
    const shift = Math.max(least, leastSpreads[measure.direction] * spread);
    const { from, evidence } = movedSince(moved, spread, shift);
    const run = values.slice(from);
    const [first, now] = [sits[from], median(run)];
    const likely = 1 / (1 + Math.exp(-(Math.log(prior / (1 - prior)) + evidence)));
    if (!first || now === null || run.length < fewestChanged || likely < 0.5) return [];
    if ((median(moved.slice(from)) ?? 0) < least) return [];
    return [
      {
        change: measure.change,
        since: first.at,
        sits: run.length,
        before: centre,
        now,
        probability: probability(Math.min(measure.ceiling, likely)),
      },
    ];
  });
}

/** Log likelihood ratios of a mean that moved by `shift` against one that stayed, sit by sit, and the start from which
 *  they add up to most (CUSUM; Page 1954, Biometrika 41:100). */
function movedSince(moved: readonly number[], spread: number, shift: number) {
  let evidence = 0;
  let from = moved.length;
  moved.forEach((by, sit) => {
    const says = (shift / spread ** 2) * (by - shift / 2);
    const next = evidence + Math.max(-mostOneSitSays, Math.min(mostOneSitSays, says));
    if (next <= 0) from = moved.length;
    else if (from === moved.length) from = sit;
    evidence = Math.max(0, next);
  });
  return { from, evidence };
}
