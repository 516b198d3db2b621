import { type BenchSetUp, guidedPlan } from "./bench-plan.ts";
import type { BenchedCushion } from "./benched-cushion.ts";
import type { Delivery } from "./delivery.ts";
import type { Moment } from "./wall-clock.ts";

export interface RigOptions {
  /** Kilograms of the plate at full load, and of the known weight. */
  readonly plate: number;
  readonly weight: number;
  /** Of each load. */
  readonly pictures: number;
  /** Begins with this load of the plan. */
  readonly startAt: number;
}

export const usualRig: RigOptions = { plate: 80, weight: 20, pictures: 4, startAt: 0 };

/** Puts the loads of a guided session on a cushion, the next one after every so many pictures. */
export class Rig {
  readonly delivery: Delivery<BenchedCushion>;
  readonly #plan: readonly BenchSetUp[];
  readonly #options: RigOptions;
  #shown = -1;

  constructor(delivery: Delivery<BenchedCushion>, options: RigOptions) {
    const { rows, columns, pitchMillimetres } = delivery.cushion.spec.grid;
    this.delivery = delivery;
    this.#options = options;
    this.#plan = guidedPlan({
      plate: options.plate,
      weight: options.weight,
      width: columns * pitchMillimetres,
      depth: rows * pitchMillimetres,
    });
  }

  /** @returns what was put on; null: what lay there stays */
  turn(at: Moment): string | null {
    const { cushion } = this.delivery;
    const place = this.#options.startAt + Math.floor(cushion.pictures / this.#options.pictures);
    const setUp = this.#plan[Math.min(place, this.#plan.length - 1)];
    if (place === this.#shown || setUp === undefined) return null;
    this.#shown = place;
    // What was left on for the hold goes on creeping.
    if (setUp.words !== "hold, ended") cushion.put(setUp.load, at);
    if (setUp.celsius !== undefined) cushion.warm(setUp.celsius);
    return setUp.words;
  }
}
