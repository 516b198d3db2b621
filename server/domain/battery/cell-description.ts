import { type MilliampHours, milliampHours } from "../units.ts";

/** mA drawn with somebody on the seat, with nobody on it, and on top of either while it calls for a relay that doesn't
 *  answer. */
export interface DescribedDraw {
  readonly loaded: number;
  readonly empty: number;
  readonly searching: number;
}

/** What a model's maker says of its cell and of what its electronics draw. How far a unit may be off is the doubt of the
 *  computation that uses it. */
export interface CellDescription {
  readonly rated: MilliampHours;
  readonly draw: DescribedDraw;
  /** False: `draw` is the usual one, for want of a description. How much of its rating a cell holds can't be told then. */
  readonly isDrawDescribed: boolean;
}

/** What a form asks of a model's draw, and between which numbers it lies, mA. */
export const drawDefinitions: Readonly<
  Record<keyof DescribedDraw, { readonly meaning: string; readonly low: number; readonly high: number }>
> = {
  loaded: { meaning: "Drawn with somebody on the seat, mA", low: 0.1, high: 500 },
  empty: { meaning: "Drawn with nobody on it, mA", low: 0.01, high: 500 },
  searching: {
    meaning: "Drawn on top while it calls for a relay that doesn’t answer, mA",
    low: 0,
    high: 500,
  },
};

/** Assumption where a model's description doesn't say otherwise. */
export const usualDraw: DescribedDraw = { loaded: 13, empty: 4, searching: 5 };

/** A unit without a model of its own. Assumption. */
export const usualCell: CellDescription = {
  rated: milliampHours(1_200),
  draw: usualDraw,
  isDrawDescribed: false,
};

/** @param model its data sheet; what it doesn't say of the draw is taken as usual */
export const describedCell = (model: {
  readonly ratedCapacity: MilliampHours;
  readonly draw: Partial<DescribedDraw> | null;
}): CellDescription => ({
  rated: model.ratedCapacity,
  draw: { ...usualDraw, ...model.draw },
  isDrawDescribed: model.draw?.loaded !== undefined && model.draw.empty !== undefined,
});
