import type { RecordedFrame } from "../record/unit-record.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import { expectedAlong, type GridShape, responses } from "./expected-response.ts";

/** A whole row or column that doesn't answer though its neighbours do: one broken trace, not sixteen broken cells. */
export interface SilentLine {
  readonly line: "row" | "column";
  /** From 0: rows from the front, columns from the person's left. */
  readonly index: number;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sitsAgreeing: number;
  readonly sitsDisagreeing: number;
}

/** Counts a neighbour must read before silence beside it means anything. Assumption. */
const clearlyLoaded = 14;
/** A cell below this share of what its neighbours promise is silent. Assumption. */
const silentShare = 0.2;
/** Cells of a line that must have been expected to answer before it is judged. Assumption. */
const fewestExpected = 3;
/** Of those, the share that must be silent. Assumption. */
const lineShare = 0.85;

/** Chance that a line is broken before looking, and that one sit looks so when it is and when it isn't. Assumptions:
 *  sits, not frames, are counted, because frames of one sit repeat each other. */
const prior = 0.001;
const looksSilentIfBroken = 0.95;
const looksSilentIfSound = 0.03;

/** @param frames oldest first, one shape; @param offsets from `emptyOffsets`
 *  @returns lines more likely broken than not, likeliest first */
export function silentLines(frames: readonly RecordedFrame[], offsets: readonly number[]): SilentLine[] {
  const first = frames[0];
  if (!first) return [];
  const sits = splitSits(frames);
  const lines: SilentLine[] = [];
  for (const line of ["row", "column"] as const) {
    const count = line === "row" ? first.rows : first.columns;
    for (let index = 0; index < count; index++) {
      const found = judgeLine(line, index, sits, offsets);
      if (found) lines.push(found);
    }
  }
  return lines.sort((a, b) => b.probability - a.probability);
}

type Sit = readonly RecordedFrame[];

/** Loaded frames in a row belong to one sit; an empty frame ends it. */
function splitSits(frames: readonly RecordedFrame[]): Sit[] {
  const sits: RecordedFrame[][] = [];
  let open: RecordedFrame[] | null = null;
  for (const frame of frames) {
    if (frame.seat === "empty") open = null;
    else if (open) open.push(frame);
    else {
      open = [frame];
      sits.push(open);
    }
  }
  return sits;
}

function judgeLine(
  line: "row" | "column",
  index: number,
  sits: readonly Sit[],
  offsets: readonly number[],
): SilentLine | null {
  let since: Instant | null = null;
  let agreeing = 0;
  let disagreeing = 0;
  for (const sit of sits) {
    const looks = sitLooksSilent(line, index, sit, offsets);
    if (looks === null) continue;
    if (looks) {
      agreeing++;
      since ??= sit[0]?.at ?? null;
    } else {
      // A line that answers again was not broken: what counts is the unbroken silence up to now.
      disagreeing = agreeing > 0 ? disagreeing + 1 : 0;
      if (disagreeing >= 2) {
        agreeing = 0;
        disagreeing = 0;
        since = null;
      }
    }
  }
  if (since === null) return null;
  const logOdds =
    Math.log(prior / (1 - prior)) +
    agreeing * Math.log(looksSilentIfBroken / looksSilentIfSound) +
    disagreeing * Math.log((1 - looksSilentIfBroken) / (1 - looksSilentIfSound));
  const broken = 1 / (1 + Math.exp(-logOdds));
  if (broken < 0.5) return null;
  return {
    line,
    index,
    probability: probability(Math.min(broken, 0.999)),
    since,
    sitsAgreeing: agreeing,
    sitsDisagreeing: disagreeing,
  };
}

/** @returns null where too few of the line's cells should have answered to tell */
function sitLooksSilent(
  line: "row" | "column",
  index: number,
  sit: Sit,
  offsets: readonly number[],
): boolean | null {
  let expectedCells = 0;
  let silentCells = 0;
  for (const frame of sit) {
    const shape: GridShape = frame;
    const response = responses(frame, offsets);
    const expected = expectedAlong(line, response, shape);
    const length = line === "row" ? frame.columns : frame.rows;
    for (let along = 0; along < length; along++) {
      const [row, column] = line === "row" ? [index, along] : [along, index];
      const promised = expected(row, column);
      if (promised < clearlyLoaded) continue;
      expectedCells++;
      if ((response[row * frame.columns + column] ?? 0) < silentShare * promised) silentCells++;
    }
  }
  if (expectedCells < fewestExpected * sit.length) return null;
  return silentCells / expectedCells >= lineShare;
}
