import { twoSidedDeviate } from "../statistics/normal.ts";
import { twoSidedStudent } from "../statistics/student.ts";

/** One thing that makes a result uncertain, already multiplied by its sensitivity: in the unit of the result. */
export interface Component {
  readonly name: string;
  readonly standard: number;
  /** null: as good as known exactly. */
  readonly degreesOfFreedom: number | null;
}

export interface Budget {
  /** Combined standard uncertainty. */
  readonly combined: number;
  /** Effective, truncated to a whole number; null: infinite. */
  readonly degreesOfFreedom: number | null;
  readonly coverageFactor: number;
  readonly expanded: number;
}

/** The level of every expanded uncertainty here. Origin: usual for calibration (JCGM 100:2008, 6.2.1 note). */
export const coverageLevel = 0.95;

/** Type A: the mean of repeats and the experimental standard deviation of that mean.
 *  Source: JCGM 100:2008 (GUM), 4.2.2 and 4.2.3. @param values two or more */
export function typeA(values: readonly number[]): {
  readonly mean: number;
  readonly standard: number;
  readonly degreesOfFreedom: number;
} {
  const n = values.length;
  if (n < 2) throw new Error("a spread needs two values or more");
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, standard: Math.sqrt(squares / (n - 1) / n), degreesOfFreedom: n - 1 };
}

/** Type B: anywhere within `halfWidth` on either side, each place as likely. Source: GUM 4.3.7 */
export const rectangular = (halfWidth: number): number => halfWidth / Math.sqrt(3);

/** Components in quadrature, effective degrees of freedom by Welch and Satterthwaite, truncated to the next lower whole
 *  number, coverage factor from Student's t. Source: GUM 5.1.2, G.4.1 and G.4.2; the components must be independent. */
export function combined(components: readonly Component[], level = coverageLevel): Budget {
  const variance = components.reduce((sum, { standard }) => sum + standard ** 2, 0);
  const quarters = components.reduce(
    (sum, { standard, degreesOfFreedom }) =>
      degreesOfFreedom === null ? sum : sum + standard ** 4 / degreesOfFreedom,
    0,
  );
  const effective = quarters === 0 ? null : Math.max(1, Math.floor(variance ** 2 / quarters));
  // Beyond this Student's t is the normal deviate to four places.
  const degreesOfFreedom = effective !== null && effective > 10_000 ? null : effective;
  const coverageFactor =
    degreesOfFreedom === null ? twoSidedDeviate(level) : twoSidedStudent(level, degreesOfFreedom);
  const standard = Math.sqrt(variance);
  return { combined: standard, degreesOfFreedom, coverageFactor, expanded: coverageFactor * standard };
}
