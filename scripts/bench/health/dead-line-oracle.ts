import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import type { GridMade } from "./overlay.ts";

/** Counts of load from which a cell's silence is beyond doubt. */
const beyondDoubt = 10;
/** Below this a cell is noise and nothing else. */
const noLoad = 0.2;
/** Twenty to one, of one line in a thousand. */
const convinced = Math.log(1_000 * 20);
/** The simulated noise is triangular, this far either way; on an open cell a third of it is left. */
const reach = 0xffff / 0xa000;

/** Whether somebody who knows every cell's offset and gain, the body's load and the very shape of the noise could tell
 *  within the time on record that a line is dead: by a load that is missing, or by how the idle cells flicker.
 *  @param load counts above empty of each cell, at rest; @param cells of the line; @param from when it broke */
export function couldTell(
  { frames }: Pick<UnitRecord, "frames">,
  { offsets }: GridMade,
  load: readonly number[],
  cells: readonly number[],
  from: number,
): boolean {
  const since = frames.filter(({ at }) => at >= from);
  if (cells.some((cell) => (load[cell] ?? 0) > beyondDoubt))
    return since.some(({ seat }) => seat === "loaded");
  const idle = cells.filter((cell) => (load[cell] ?? 0) < noLoad);
  let evidence = 0;
  for (const { seat, cells: counts } of since)
    for (const cell of seat === "empty" ? cells : idle) {
      const [count = 0, offset = 0] = [counts[cell], offsets[cell]];
      evidence += Math.log(chanceOf(count, offset, reach / 3) / chanceOf(count, offset, reach));
    }
  return evidence > convinced;
}

/** A fault or a warm day may do what the noise alone can't. */
const neverLess = 1e-4;

const chanceOf = (count: number, offset: number, width: number): number =>
  Math.max(neverLess, below((count + 0.5 - offset) / width) - below((count - 0.5 - offset) / width));

/** Distribution of the triangular noise on -1 to 1. */
function below(at: number): number {
  if (at <= -1) return 0;
  if (at >= 1) return 1;
  return at < 0 ? (1 + at) ** 2 / 2 : 1 - (1 - at) ** 2 / 2;
}
