import type { RigLoad } from "./bench-rig.ts";
import { relieved, restingLoad } from "./seat-load.ts";

/** What a rig puts on, in turn; it goes on to the next when enough pictures were asked of the unit. */
export interface BenchSetUp {
  readonly words: string;
  readonly load: RigLoad;
  readonly celsius?: number;
}

export interface PlannedLoads {
  /** Kilograms of the plate at full load, and of the known weight. */
  readonly plate: number;
  readonly weight: number;
  /** Of the grid, mm. */
  readonly width: number;
  readonly depth: number;
}

const seat = restingLoad(80, 1);
const leaning = 0.6;

/** The loads of a guided session in the order in which it asks for them. */
export function guidedPlan({ plate, weight, width, depth }: PlannedLoads): readonly BenchSetUp[] {
  const press = (words: string, share: number, celsius?: number): BenchSetUp => ({
    words,
    load: { kind: "plate", kilograms: plate * share },
    ...(celsius === undefined ? {} : { celsius }),
  });
  const lay = (words: string, right: number, front: number): BenchSetUp => ({
    words,
    load: { kind: "weight", kilograms: weight, right: (right * width) / 4, front: (front * depth) / 4 },
  });
  const body = (words: string, load: typeof seat): BenchSetUp => ({ words, load: { kind: "seat", load } });
  return [
    { words: "empty", load: { kind: "nothing" } },
    press("even load", 1),
    lay("weight in the middle", 0, 0),
    lay("weight at the front left", -1, 1),
    lay("weight at the front right", 1, 1),
    lay("weight at the rear left", -1, -1),
    lay("weight at the rear right", 1, -1),
    press("a third, rising", 0.3),
    press("two thirds, rising", 0.6),
    press("full load", 1),
    press("two thirds, falling", 0.6),
    press("a third, falling", 0.3),
    press("hold, begun", 1),
    press("hold, ended", 1),
    { words: "empty and warm", load: { kind: "nothing" }, celsius: 34 },
    press("even load, warm", 1, 34),
    press("cable bent", 1, 22),
    body("seated", seat),
    body("leaning left", relieved(seat, "lean-left", leaning)),
    body("leaning right", relieved(seat, "lean-right", leaning)),
    body("leaning forward", relieved(seat, "lean-forward", leaning)),
  ];
}
