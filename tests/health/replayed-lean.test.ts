import { describe, expect, it } from "vitest";
import {
  footprint,
  relieved,
  restingLoad,
  type SeatLoad,
} from "../../scripts/simulated-cushions/seat-load.ts";
import type { RecordedRelief } from "../../server/domain/record/unit-record.ts";
import { leanVisibility } from "../../server/domain/sensor-grid/lean-visibility.ts";
import { type Replay, sensed, shallowestShown } from "../../server/domain/sensor-grid/replayed-lean.ts";
import { seatSums, wouldReport } from "../../server/domain/sensor-grid/reported-lean.ts";
import { instant, probability, seconds } from "../../server/domain/units.ts";

const grid = { rows: 10, columns: 10, pitchMillimetres: 42 };
const print = footprint(grid, 0);
const body = restingLoad(70, 1);
const parts = ["leftBone", "leftThigh", "rightBone", "rightThigh"] as const;
const map = (load: SeatLoad): Float64Array =>
  Float64Array.from({ length: 100 }, (_, cell) =>
    parts.reduce((sum, part) => sum + 40 * load[part] * (print[part][cell] ?? 0), 0),
  );
const rest = map(body);

const replayWithout = (row: number, soundReliefs: readonly RecordedRelief[] = []): Replay => ({
  ...grid,
  states: Array.from(rest, (_, cell) => (Math.floor(cell / 10) === row ? "open" : "working")),
  stuckAt: new Float64Array(100),
  rests: [rest],
  restored: false,
  soundReliefs,
  laterReliefs: [],
});

/** By the simulated body's own sit bones and thighs: as a sound grid would tell the shallowest lean that the broken one
 *  still reports. */
function shallowestOf(replay: Replay): number {
  const whole = seatSums(rest, replay);
  const felt = seatSums(sensed(rest, replay), replay);
  for (let depth = 0; depth <= 1; depth += 0.001) {
    const now = map(relieved(body, "lean-forward", depth));
    if (wouldReport("forward", felt, seatSums(sensed(now, replay), replay)))
      return (whole.rear - seatSums(now, replay).rear) / (whole.total / 2);
  }
  return Number.POSITIVE_INFINITY;
}

const leansOf = (depths: readonly number[]): RecordedRelief[] =>
  depths.map((depth) => ({
    at: instant(0),
    receivedAt: instant(0),
    kind: "lean-left",
    hold: seconds(60),
    depth: probability(depth),
    outcome: "complete",
    prompted: false,
  }));

describe("a lean replayed on a broken grid", () => {
  // Against the simulated body (scripts/simulated-cushions/seat-load.ts), which has parts that the replay doesn't know of.
  it.each([5, 6, 7, 8])("forward, row %i (from 0) open, begins to show where the body's own does", (row) => {
    const replay = replayWithout(row);
    expect(Math.abs(shallowestShown("forward", rest, replay) - shallowestOf(replay))).toBeLessThan(0.05);
  });

  it("is told more surely by forty leans than by ten of the same depths", () => {
    const least = shallowestShown("left", rest, replayWithout(7));
    const ten = [-0.3, -0.2, -0.1, -0.07, -0.02, 0.02, 0.07, 0.1, 0.2, 0.3].map((off) => least + off);
    const left = (depths: readonly number[]) =>
      leanVisibility(replayWithout(7, leansOf(depths))).find(({ direction }) => direction === "left")
        ?.outOfTen;
    const few = left(ten);
    const many = left([...ten, ...ten, ...ten, ...ten]);
    if (!few || !many) throw new Error("no sight of leans to the left");
    expect(few.best).toBe(many.best);
    expect(few.high - few.low).toBeGreaterThan(many.high - many.low);
    expect(few.low).toBeLessThan(few.best);
  });
});
