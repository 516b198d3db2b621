import type { Interval } from "../units.ts";
import { twoSidedStudent } from "./student.ts";

export interface Point {
  readonly x: number;
  readonly y: number;
  /** In proportion to one over its variance; left out: all weigh the same. */
  readonly weight?: number;
}

export interface StraightLine {
  readonly intercept: number;
  readonly slope: number;
  readonly residualVariance: number;
  readonly count: number;
  readonly meanX: number;
  readonly squaresX: number;
}

/** Least squares, each point by its weight (Kutner et al., Applied Linear Statistical Models, 11.1). Weights are taken as
 *  shares of their mean, so that equal ones are ordinary least squares.
 *  @returns null of fewer than three points, or of points above each other */
export function straightLine(points: readonly Point[]): StraightLine | null {
  const count = points.length;
  if (count < 3) return null;
  const whole = points.reduce((sum, { weight = 1 }) => sum + weight, 0);
  const share = ({ weight = 1 }: Point): number => (weight * count) / whole;
  const meanX = points.reduce((sum, point) => sum + share(point) * point.x, 0) / count;
  const meanY = points.reduce((sum, point) => sum + share(point) * point.y, 0) / count;
  const squaresX = points.reduce((sum, point) => sum + share(point) * (point.x - meanX) ** 2, 0);
  if (squaresX === 0) return null;
  const slope =
    points.reduce((sum, point) => sum + share(point) * (point.x - meanX) * (point.y - meanY), 0) / squaresX;
  const intercept = meanY - slope * meanX;
  const squares = points.reduce(
    (sum, point) => sum + share(point) * (point.y - intercept - slope * point.x) ** 2,
    0,
  );
  return { intercept, slope, residualVariance: squares / (count - 2), count, meanX, squaresX };
}

/** Where one more point at `x` would fall.
 *  Source: Kutner et al., Applied Linear Statistical Models, chapter 2 */
export function predictedAt(line: StraightLine, x: number, level: number): Interval {
  const best = line.intercept + line.slope * x;
  const variance = line.residualVariance * (1 + 1 / line.count + (x - line.meanX) ** 2 / line.squaresX);
  const half = twoSidedStudent(level, line.count - 2) * Math.sqrt(variance);
  return { low: best - half, best, high: best + half, level };
}

/** Where the line comes down to `y`: all x at which the mean may be `y` by Fieller's theorem (Fieller 1954, J R Stat Soc
 *  B 16:175).
 *  @param shared one standard deviation of an error that all points have in common
 *  @returns null where the line doesn't fall; `high` infinite where it isn't sure that it falls */
export function fallsTo(line: StraightLine, y: number, level: number, shared = 0): Interval | null {
  if (line.slope >= 0) return null;
  const t = twoSidedStudent(level, line.count - 2);
  const scaled = t * t * line.residualVariance;
  const above = line.intercept + line.slope * line.meanX - y;
  // (above + slope·u)² = t²·s²·(1/n + u²/Sxx) in u = x − mean.
  const a = line.slope ** 2 - scaled / line.squaresX;
  const b = 2 * above * line.slope;
  const c = above ** 2 - scaled / line.count - (t * shared) ** 2;
  const best = line.meanX - above / line.slope;
  const root = b * b - 4 * a * c;
  if (a <= 0 || root < 0) {
    const low =
      root < 0 || a === 0 ? Number.NEGATIVE_INFINITY : line.meanX + (-b - Math.sqrt(root)) / (2 * a);
    return { low: Math.min(low, best), best, high: Number.POSITIVE_INFINITY, level };
  }
  const one = line.meanX + (-b - Math.sqrt(root)) / (2 * a);
  const other = line.meanX + (-b + Math.sqrt(root)) / (2 * a);
  return { low: Math.min(one, other), best, high: Math.max(one, other), level };
}
