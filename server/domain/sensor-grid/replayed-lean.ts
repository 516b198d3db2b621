import type { LeanDirection } from "../condition/condition.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { type CellState, works } from "./cell-states.ts";
import type { GridShape } from "./expected-response.ts";
import { perShape } from "./per-shape.ts";
import { type SeatSums, seatSums, wouldReport } from "./reported-lean.ts";

/** Of what leaves the sit bones in a forward lean, what arrives on the front of the seat; the rest goes to the feet.
 *  Assumption. */
const arrivesInFront = 0.7;

/** The grid as it is now, and what it is to be tried on. */
export interface Replay extends GridShape {
  readonly states: readonly CellState[];
  /** Counts above empty that a stuck cell adds whoever sits there; what a masked one last read. */
  readonly stuckAt: Float64Array;
  /** Resting maps as a sound grid reads them, at least one. */
  readonly rests: readonly Float64Array[];
  /** The grid was never seen sound: the maps are guessed where it is broken, and count for few trials. */
  readonly restored: boolean;
  /** Reliefs recorded before the first fault: what a sound grid reported, so that the answer is "of ten that would have
   *  been seen". */
  readonly soundReliefs: readonly RecordedRelief[];
  /** Those recorded since: good for the side that the fault spares. */
  readonly laterReliefs: readonly RecordedRelief[];
}

/** What the cells as they are make of a load. */
export const sensed = (load: Float64Array, { states, stuckAt }: Replay): Float64Array =>
  load.map((count, cell) => {
    if (works(states[cell])) return count;
    return staysAsItIs(states[cell]) ? (stuckAt[cell] ?? 0) : 0;
  });

/** What a masked cell makes of a load nobody knows: it is taken to show no change, and so no lean. */
const staysAsItIs = (state: CellState | undefined): boolean => state === "stuck" || state === "masked";

const halvings = 14;

/** Of leans that way from this resting map, the shallowest that this grid would report: the deeper a lean, the more of it
 *  is felt.
 *  @returns a depth as a unit tells it, 0 to 1; infinite where not even the deepest shows */
export function shallowestShown(direction: LeanDirection, rest: Float64Array, replay: Replay): number {
  const whole = seatSums(rest, replay);
  const atRest = seatSums(sensed(rest, replay), replay);
  const stays = direction === "forward" ? thighLevel(rest, halves(replay).forward) : 0;
  const into = new Float64Array(rest.length);
  const shown = (depth: number): boolean =>
    wouldReport(direction, atRest, feltAfter({ direction, rest, whole, stays, depth, replay, into }));
  if (!shown(1)) return Number.POSITIVE_INFINITY;
  let low = 0;
  let high = 1;
  for (let halving = 0; halving < halvings; halving++) {
    const middle = (low + high) / 2;
    if (shown(middle)) high = middle;
    else low = middle;
  }
  return high;
}

interface Leant {
  readonly direction: LeanDirection;
  readonly rest: Float64Array;
  readonly whole: SeatSums;
  /** Counts of a cell that a lean doesn't take. */
  readonly stays: number;
  readonly depth: number;
  readonly replay: Replay;
  /** Written over. */
  readonly into: Float64Array;
}

/** Moves `depth` of half the load off the relieved half and onto the other, and feels it. Sideways both halves keep their
 *  shape; forward the load leaves the sit bones while the thighs stay, so a cell gives in proportion to what it carries
 *  above the thighs (assumptions). */
function feltAfter({ direction, rest, whole, stays, depth, replay, into }: Leant): SeatSums {
  const relieved = { left: whole.right, right: whole.left, forward: whole.rear }[direction];
  const taking = { left: whole.left, right: whole.right, forward: whole.front }[direction];
  if (relieved <= 0 || taking <= 0) return seatSums(sensed(rest, replay), replay);
  const half = halves(replay)[direction];
  const forward = direction === "forward";
  const gone = Math.min(relieved, (depth * whole.total) / 2);
  const gains = 1 + ((forward ? arrivesInFront : 1) * gone) / taking;
  let weight = 0;
  for (let cell = 0; cell < rest.length; cell++)
    if (half[cell] === 1) weight += Math.max(0, (rest[cell] ?? 0) - stays);
  const { states, stuckAt } = replay;
  for (let cell = 0; cell < rest.length; cell++) {
    const count = rest[cell] ?? 0;
    const state = states[cell];
    if (state === "open") into[cell] = 0;
    else if (staysAsItIs(state)) into[cell] = stuckAt[cell] ?? 0;
    else if (half[cell] === 0) into[cell] = count * gains;
    else into[cell] = Math.max(0, count - (weight > 0 ? (gone * Math.max(0, count - stays)) / weight : 0));
  }
  return seatSums(into, replay);
}

/** Of the load of a mean cell: one in front that carries less lies beside the thighs. Assumption. */
const underThighs = 0.5;

/** Counts above empty of a cell under the thighs: the mean of those that carry load in the front half. */
function thighLevel(rest: Float64Array, rear: Uint8Array): number {
  const least = (underThighs * rest.reduce((sum, count) => sum + count, 0)) / rest.length;
  const thighs = rest.filter((count, cell) => rear[cell] === 0 && count > least);
  return thighs.length === 0 ? 0 : thighs.reduce((sum, count) => sum + count, 0) / thighs.length;
}

/** 1 for each cell on the half that a lean that way relieves. */
const halves = perShape(({ rows, columns }): Readonly<Record<LeanDirection, Uint8Array>> => {
  const cells = Array.from({ length: rows * columns }, (_, cell) => ({
    inLeftHalf: 2 * (cell % columns) + 1 < columns,
    inFrontHalf: 2 * Math.floor(cell / columns) + 1 < rows,
  }));
  return {
    left: Uint8Array.from(cells, ({ inLeftHalf }) => (inLeftHalf ? 0 : 1)),
    right: Uint8Array.from(cells, ({ inLeftHalf }) => (inLeftHalf ? 1 : 0)),
    forward: Uint8Array.from(cells, ({ inFrontHalf }) => (inFrontHalf ? 0 : 1)),
  };
});
