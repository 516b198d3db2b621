import type { LeanVisibility } from "../condition/condition.ts";
import type { RecordedFrame, RecordedRelief, SeatState } from "../record/unit-record.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";
import { type BrokenCell, openCells, stuckCells } from "./broken-cells.ts";
import { type CellState, cellStates, works } from "./cell-states.ts";
import { type Counterfactual, counterfactuals } from "./counterfactual.ts";
import type { GridShape } from "./expected-response.ts";
import { type InsertTurned, insertPlacing } from "./insert-placing.ts";
import { type IntermittentLine, intermittentLines } from "./intermittent-lines.ts";
import { leanVisibility, type Replay } from "./lean-visibility.ts";
import { loadShape, type ShapeChanged } from "./load-shape.ts";
import { type MoisturePatch, moisturePatch } from "./moisture-patch.ts";
import { restoredMap } from "./restored-map.ts";
import { type ShortedLines, shortedLines } from "./shorted-lines.ts";
import { type SitPromise, withPromises } from "./silence.ts";
import { cellsOf, type SilentLine, silentLines } from "./silent-lines.ts";
import { sitsIn } from "./sits.ts";

export interface GridHealth extends GridShape {
  readonly states: readonly CellState[];
  readonly lines: readonly SilentLine[];
  readonly open: readonly BrokenCell[];
  readonly stuck: readonly BrokenCell[];
  readonly intermittent: readonly IntermittentLine[];
  readonly shorted: readonly ShortedLines[];
  readonly moisture: MoisturePatch | null;
  readonly turned: InsertTurned | null;
  readonly shapeChanges: readonly ShapeChanged[];
  readonly visibility: readonly LeanVisibility[];
  /** Whether the fault alone would make the drop that is seen; empty where no fault or too little record on either
   *  side of it. */
  readonly counterfactuals: readonly Counterfactual[];
  readonly frames: Readonly<Record<SeatState, number>>;
  readonly sits: number;
  readonly lastSitAt: Instant;
}

/** Sits of this long before the last one say how the cells are now. Assumption: a person's week. */
const lately = 7 * 24 * millisecondsIn.hour;
const restsTried = 8;
/** Sound sits from which a resting map is better taken than restored from a grid that is already broken. Assumption. */
const fewestSoundSits = 3;

/** @param frames and @param reliefs of one unit under one person, oldest first
 *  @returns null where the seat was never seen both loaded and, often enough, empty */
export function gridHealth(
  frames: readonly RecordedFrame[],
  reliefs: readonly RecordedRelief[],
): GridHealth | null {
  const shape = frames.at(-1);
  if (!shape) return null;
  const { rows, columns } = shape;
  const ofShape = frames.filter((frame) => frame.rows === rows && frame.columns === columns);
  const sits = withPromises(sitsIn(ofShape), shape);
  const last = sits.at(-1);
  if (!last) return null;

  const stuck = stuckCells(sits);
  const lines = silentLines(sits, shape);
  const inLines = lines.flatMap(({ line, index }) => cellsOf(line, index, shape));
  const open = openCells(sits, new Set([...inLines, ...stuck.map(({ cell }) => cell)]));
  const states = cellStates(
    sits.filter((sit) => sit.at > last.at - lately),
    new Set([...inLines, ...open.map(({ cell }) => cell)]),
    new Set(stuck.map(({ cell }) => cell)),
  );
  const firstFault = Math.min(...[...stuck, ...lines, ...open].map(({ since }) => since));
  const inBroken = new Set(states.flatMap((state, cell) => (works(state) ? [] : [cell])));
  const empty = ofShape.filter((frame) => frame.seat === "empty");
  const turned = inBroken.size === 0 ? insertPlacing(sits, shape) : null;
  const visibility = leanVisibility(replayOf({ rows, columns }, sits, states, firstFault, reliefs));
  return {
    rows,
    columns,
    states,
    lines,
    open,
    stuck,
    intermittent: intermittentLines(sits, shape, lines),
    shorted: shortedLines(sits, shape, lines),
    moisture: moisturePatch(empty, shape, inBroken),
    turned,
    // An insert that lies turned has every other measure changed too.
    shapeChanges: turned ? [] : loadShape(sits, shape, (cell) => !inBroken.has(cell)),
    visibility,
    counterfactuals: Number.isFinite(firstFault)
      ? counterfactuals(reliefs, visibility, {
          start: ofShape[0]?.at ?? last.at,
          since: instant(firstFault),
          end: last.at,
        })
      : [],
    frames: { loaded: ofShape.length - empty.length, empty: empty.length },
    sits: sits.length,
    lastSitAt: last.at,
  };
}

/** @param firstFault infinite where there is none */
function replayOf(
  shape: GridShape,
  sits: readonly SitPromise[],
  states: readonly CellState[],
  firstFault: number,
  reliefs: readonly RecordedRelief[],
): Replay {
  const sound = sits.filter((sit) => sit.at < firstFault);
  const wasSound = sound.length >= fewestSoundSits;
  const rests = wasSound
    ? sound.slice(-restsTried).map((sit) => sit.response.map((count) => Math.max(0, count)))
    : sits.slice(-restsTried).map((sit) => restoredMap(sit.response, states, shape));
  const last = sits.at(-1);
  const usualEmpty = last?.emptyBefore ? Math.min(...last.emptyBefore) : 0;
  return {
    ...shape,
    states,
    stuckAt: (last?.counts ?? []).map((count) => count - usualEmpty),
    rests,
    restored: !wasSound,
    soundReliefs: reliefs.filter((relief) => relief.at < firstFault),
    laterReliefs: reliefs.filter((relief) => relief.at >= firstFault),
  };
}
