import type { GridShape } from "./expected-response.ts";
import { meanOf, placingGains, type WayTold, waysTold } from "./insert-placing.ts";
import { type UsualMeasure, usualMeasures } from "./load-shape.ts";
import { mirrorDirection } from "./mirror-direction.ts";

/** How this body used to load this grid, by its first sits since the unit was lent, mended or changed. Carried from day to
 *  day: while `forming` it keeps the sits it will be made of. */
export type GridBaseline =
  | { readonly kind: "forming"; readonly sits: readonly BaselineSit[] }
  | {
      readonly kind: "formed";
      readonly mean: Float32Array;
      readonly sides: Float32Array;
      readonly ways: readonly WayTold[];
      readonly usual: readonly UsualMeasure[];
    };

export interface BaselineSit {
  /** Shares of the whole. */
  readonly map: Float32Array;
  readonly measures: Float64Array;
}

/** Sits that show how it used to lie. Assumption. */
const baselineSits = 20;

export const newBaseline: GridBaseline = { kind: "forming", sits: [] };

/** @returns the baseline with one more sit in it */
export function withSit(sits: readonly BaselineSit[], sit: BaselineSit, shape: GridShape): GridBaseline {
  const more = [...sits, sit];
  if (more.length < baselineSits) return { kind: "forming", sits: more };
  const mean = meanOf(more.map(({ map }) => map));
  const sides = mirrorDirection(
    more.map(({ map }) => map),
    shape,
  );
  const gains = more.map(({ map }) => placingGains(map, { mean, sides }, shape));
  return {
    kind: "formed",
    mean,
    sides,
    ways: waysTold(gains, shape),
    usual: usualMeasures(more.map(({ measures }) => measures)),
  };
}
