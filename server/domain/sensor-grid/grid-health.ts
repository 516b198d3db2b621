import type { LeanVisibility } from "../condition/condition.ts";
import type { RecordedRelief, SeatState } from "../record/unit-record.ts";
import { type Instant, instant, millisecondsIn } from "../units.ts";
import { type BrokenCell, openCells, stuckCells } from "./broken-cells.ts";
import { type CellState, cellStates, isBroken, works } from "./cell-states.ts";
import { type Counterfactual, counterfactuals } from "./counterfactual.ts";
import type { GridShape } from "./expected-response.ts";
import { countsOf, type GridDay, type KeptMap, responseOf, type SitOfDay } from "./grid-day.ts";
import { type InsertTurned, insertPlacing } from "./insert-placing.ts";
import { type IntermittentLine, intermittentLines } from "./intermittent-lines.ts";
import { leanVisibility } from "./lean-visibility.ts";
import { cellsOf, type LinePlace } from "./lines.ts";
import { loadShape, type ShapeChanged } from "./load-shape.ts";
import { type MaskedCells, maskedOn } from "./masked-cells.ts";
import { type MoisturePatch, moisturePatch } from "./moisture-patch.ts";
import type { Replay } from "./replayed-lean.ts";
import { restoredMap } from "./restored-map.ts";
import { type ShortedLines, shortedLines } from "./shorted-lines.ts";
import { type SilentLine, silentLines } from "./silent-lines.ts";

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
  /** A broken grid says nothing of how the load lies on it. */
  readonly shapeJudged: boolean;
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

/** @param all days of one grid under one person, oldest first; @param reliefs of the same time, oldest first
 *  @param known cells that raise no alarm any more, and show no lean
 *  @returns null where the seat was never seen both loaded and empty */
export function gridHealth(
  all: readonly GridDay[],
  reliefs: readonly RecordedRelief[],
  known: MaskedCells | null = null,
): GridHealth | null {
  const newest = all.at(-1);
  if (newest === undefined) return null;
  const { rows, columns } = newest;
  const shape = { rows, columns };
  const days = all.filter((day) => day.rows === rows && day.columns === columns);
  const sits = days.flatMap((day) => day.sits);
  const maps = days.flatMap((day) => day.maps);
  const [first, last] = [sits[0], sits.at(-1)];
  if (first === undefined || last === undefined) return null;

  const masked = maskedOn(known, shape);
  const stuck = stuckCells(sits, masked);
  const loose = intermittentLines(sits, shape, []);
  const lines = silentLines(
    sits,
    days.map(({ flicker }) => flicker),
    shape,
  )
    .filter(({ line, index }) => cellsOf(line, index, shape).some((cell) => !masked.has(cell)))
    .filter((line) => !isLooseStill(line, loose));
  const inLines = lines.flatMap(({ line, index }) => cellsOf(line, index, shape));
  const open = openCells(sits, new Set([...inLines, ...stuck.map(({ cell }) => cell), ...masked]));
  const states = cellStates(
    maps.filter(({ at }) => at > last.at - lately).map(responseOf),
    new Set([...inLines, ...open.map(({ cell }) => cell)]),
    new Set(stuck.map(({ cell }) => cell)),
    masked,
  );
  const firstFault = Math.min(...[...stuck, ...lines, ...open].map(({ since }) => since));
  const inBroken = new Set(states.flatMap((state, cell) => (works(state) ? [] : [cell])));
  // A masked cell was so when the baseline was taken.
  const placing = isBroken(states) ? null : howItLies(sits, newest);
  const visibility = leanVisibility(replayOf(shape, maps, states, firstFault, reliefs));
  return {
    rows,
    columns,
    states,
    lines,
    open,
    stuck,
    intermittent: loose.filter((line) => !lines.some((broken) => sameLine(line, broken))),
    shorted: shortedLines(sits, shape, lines),
    moisture: moisturePatch(
      days.flatMap((day) => day.looks),
      inBroken,
    ),
    turned: placing?.turned ?? null,
    shapeChanges: placing?.shapeChanges ?? [],
    shapeJudged: placing !== null,
    visibility,
    counterfactuals: Number.isFinite(firstFault)
      ? counterfactuals(reliefs, visibility, { start: first.at, since: instant(firstFault), end: last.at })
      : [],
    frames: {
      loaded: days.reduce((sum, day) => sum + day.frames.loaded, 0),
      empty: days.reduce((sum, day) => sum + day.frames.empty, 0),
    },
    sits: sits.length,
    lastSitAt: last.at,
  };
}

/** Silent sits in a row before a line that came and went is called broken for good. Assumption: six of a line that is
 *  silent in two of five happen once in 250 times. */
const goneForGood = 6;

const sameLine = (one: LinePlace, other: LinePlace): boolean =>
  one.line === other.line && one.index === other.index;

const isLooseStill = (silent: SilentLine, loose: readonly IntermittentLine[]): boolean =>
  silent.told === "by-load" && silent.agreeing < goneForGood && loose.some((line) => sameLine(line, silent));

/** @returns null while there is no baseline to compare with */
function howItLies(
  sits: readonly SitOfDay[],
  { baseline, rows, columns }: GridDay,
): { readonly turned: InsertTurned | null; readonly shapeChanges: readonly ShapeChanged[] } | null {
  if (baseline.kind === "forming") return null;
  const since = sits.flatMap(({ at, measures, gains }) => (gains === null ? [] : [{ at, measures, gains }]));
  const turned = insertPlacing(since, baseline.ways, { rows, columns });
  // An insert that lies turned has every other measure changed too.
  return { turned, shapeChanges: turned ? [] : loadShape(since, baseline.usual) };
}

/** @param firstFault infinite where there is none */
function replayOf(
  shape: GridShape,
  maps: readonly KeptMap[],
  states: readonly CellState[],
  firstFault: number,
  reliefs: readonly RecordedRelief[],
): Replay {
  const sound = maps.filter(({ at }) => at < firstFault);
  // A masked cell was never seen sound.
  const wasSound = sound.length >= fewestSoundSits && !states.includes("masked");
  const rests = wasSound
    ? sound.slice(-restsTried).map((map) => responseOf(map).map((count) => Math.max(0, count)))
    : maps.slice(-restsTried).map((map) => restoredMap(responseOf(map), states, shape));
  const last = maps.at(-1);
  return {
    ...shape,
    states,
    stuckAt: last ? countsOf(last).map((count) => count - last.leastEmpty) : new Float64Array(states.length),
    rests,
    restored: !wasSound,
    soundReliefs: wasSound ? reliefs.filter((relief) => relief.at < firstFault) : [],
    laterReliefs: reliefs.filter((relief) => !wasSound || relief.at >= firstFault),
  };
}
