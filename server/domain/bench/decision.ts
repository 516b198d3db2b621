import type { JudgedLine, LineDecision } from "./reading.ts";
import type { Budget } from "./uncertainty.ts";

export interface Limits {
  /** null: none on this side. */
  readonly low: number | null;
  readonly high: number | null;
}

/** Guard-banded on both sides: pass only where the whole of value ± expanded uncertainty lies within the limits, fail
 *  only where all of it lies outside; in between nothing is settled and the reading is repeated.
 *  Source: JCGM 106:2012, 8.3 (guarded acceptance and guarded rejection), guard band as long as the expanded uncertainty */
export function decide(value: number, expanded: number, { low, high }: Limits): LineDecision {
  if ((low !== null && value + expanded < low) || (high !== null && value - expanded > high)) return "fail";
  const inside = (low === null || value - expanded >= low) && (high === null || value + expanded <= high);
  return inside ? "pass" : "not-settled";
}

interface Measured {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  readonly budget: Budget;
  readonly limits: Limits;
}

export const measuredLine = ({ name, unit, value, budget, limits }: Measured): JudgedLine => ({
  name,
  unit,
  value,
  expanded: budget.expanded,
  coverageFactor: budget.coverageFactor,
  degreesOfFreedom: budget.degreesOfFreedom,
  ...limits,
  decision: decide(value, budget.expanded, limits),
  maskable: false,
});

/** Something counted, or seen or not: it carries no uncertainty of measurement. */
export const countedLine = (
  name: string,
  count: number,
  limits: Limits,
  also: { readonly unsettled?: boolean; readonly maskable?: boolean; readonly unit?: string } = {},
): JudgedLine => {
  const decision = decide(count, 0, limits);
  return {
    name,
    unit: also.unit ?? "",
    value: count,
    expanded: 0,
    coverageFactor: 0,
    degreesOfFreedom: null,
    ...limits,
    decision: decision === "pass" && also.unsettled === true ? "not-settled" : decision,
    maskable: also.maskable ?? false,
  };
};

/** What was not done as the step asks: that settles nothing about the unit. */
export const procedureLine = (name: string, unit: string, value: number, limits: Limits): JudgedLine => {
  const line = countedLine(name, value, limits, { unit });
  return line.decision === "fail" ? { ...line, decision: "not-settled" } : line;
};
