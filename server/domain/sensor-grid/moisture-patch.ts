import { type Instant, millisecondsIn, type Probability, probability } from "../units.ts";
import type { EmptyLook } from "./raised-patch.ts";

/** Neighbouring cells that read high with nobody on them, and went on doing so. */
export interface MoisturePatch {
  readonly cells: readonly number[];
  readonly since: Instant;
  readonly probability: Probability;
  readonly course: "growing" | "steady" | "drying";
  readonly readings: number;
}

/** Empty readings in a row, and the time they must span: textile that was just sat on, or an object put down for a
 *  moment, is gone sooner. Assumptions. */
const fewestReadings = 2;
const shortest = 2 * millisecondsIn.hour;
const dryAgain = 2;

/** @param looks at the empty seat, oldest first; @param broken cells known to be
 *  @returns the patch that is there now; null where there is none or too little to go by */
export function moisturePatch(
  looks: readonly EmptyLook[],
  broken: ReadonlySet<number>,
): MoisturePatch | null {
  const run = currentRun(looks, broken);
  const first = run[0];
  const last = run.at(-1);
  if (!first || !last || run.length < fewestReadings || last.at - first.at < shortest) return null;
  if (!last.patch.some((cell) => first.patch.includes(cell))) return null;
  const course = courseOf(run);
  return {
    cells: [...last.patch],
    since: first.at,
    readings: run.length,
    course,
    // What changes size and fades is water; what lies there unchanged may as well be an object. Assumptions.
    probability: probability(course === "steady" ? 0.6 : Math.min(0.95, 0.7 + 0.05 * run.length)),
  };
}

/** The wet looks that reach the last one, oldest first: one dry look among them is passed over, two end it. */
function currentRun(looks: readonly EmptyLook[], broken: ReadonlySet<number>): EmptyLook[] {
  const run: EmptyLook[] = [];
  let dry = 0;
  for (const look of looks) {
    const sound = look.patch.filter((cell) => !broken.has(cell));
    if (2 * sound.length > look.patch.length) {
      dry = 0;
      run.push(look);
    } else if (run.length > 0 && ++dry >= dryAgain) run.length = 0;
  }
  return run;
}

function courseOf(run: readonly EmptyLook[]): MoisturePatch["course"] {
  const peak = Math.max(...run.map(({ excess }) => excess));
  const first = run[0]?.excess ?? 0;
  const last = run.at(-1)?.excess ?? 0;
  if (last < 0.75 * peak) return "drying";
  return first < 0.75 * peak ? "growing" : "steady";
}

/** @param days empty readings of earlier days, cell by cell
 *  @returns the middle of the lower half, so that a patch that stays for days doesn't become usual; null of fewer than two */
export function usualEmpty(days: readonly Float32Array[]): Float32Array | null {
  const [first] = days;
  if (first === undefined || days.length < 2) return null;
  const column = new Float32Array(days.length);
  return first.map((_, cell) => {
    for (let day = 0; day < days.length; day++) column[day] = days[day]?.[cell] ?? 0;
    return column.sort()[(days.length - 1) >> 2] ?? 0;
  });
}
