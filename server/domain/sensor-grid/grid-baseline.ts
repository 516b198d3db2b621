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
  const maps = more.map(({ map }) => map);
  const gains = maps.map((map, own) => {
    // What tells the sides apart is tried on a sit that it wasn't made of: of an even body it tells nothing.
    const others = mirrorDirection(
      maps.filter((_, index) => index !== own),
      shape,
    );
    return placingGains(map, { mean, sides: others }, shape);
  });
  const sides = mirrorDirection(maps, shape);
  return {
    kind: "formed",
    mean,
    sides,
    ways: waysTold(gains, shape),
    usual: usualMeasures(more.map(({ measures }) => measures)),
  };
}
