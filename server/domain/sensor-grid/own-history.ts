import { median } from "../statistics/median.ts";
import type { GridShape } from "./expected-response.ts";
import { cellsOf, type LinePlace, placeOf } from "./lines.ts";
import { answered, type SitReading, silent } from "./sit-reading.ts";
import { type BrokenSince, brokenSince } from "./unbroken-evidence.ts";

/** Sits in which a line must have been seen at work before its silence means anything. Assumption. */
const fewestBefore = 10;
const fewestAsked = 8;
/** Chance that a line is broken before any look. Assumption, as for lines judged by their neighbours. */
const prior = 0.001;
/** However seldom a sound line was silent, somebody may sit anew. Assumption. */
const leastSilent = 0.03;
const ceiling = 0.97;
/** Where none of the last few sits finds it silent, it isn't. */
const lastFew = 3;

/** A line that hardly any load reaches, such as an outer column, promises nothing by its neighbours; but it used to
 *  read something in nearly every sit, and now never does, while the line inside it reads as much as before.
 *  @param sits oldest first
 *  @returns null where it answers, or where it never did */
export function silentAgainstItself(
  sits: readonly SitReading[],
  of: LinePlace,
  shape: GridShape,
): BrokenSince | null {
  const place = placeOf(of, shape);
  // The noise of a mean of several readings is a fraction of a count a cell.
  const noise = Math.sqrt(cellsOf(of.line, of.index, shape).length);
  const carried = (sit: SitReading): number => sit.carried[place] ?? 0;
  if (!sits.slice(-lastFew).some((sit) => carried(sit) < noise)) return null;
  const inner = innerNeighbour(sits, of, shape);
  const usualInner = median(sits.map((sit) => sit.carried[inner] ?? 0)) ?? 0;
  if (usualInner <= 0) return null;
  const asked = sits.filter((sit) => (sit.carried[inner] ?? 0) > 0.6 * usualInner);
  const answer = (sit: SitReading): number =>
    carried(sit) < noise && (sit.noisy[place] ?? 0) < 2 * noise ? silent : answered;
  const found = brokenSince(asked, answer, place, { prior, ifBroken: 0.95, ifSound: leastSilent, ceiling });
  if (!found || found.agreeing < fewestAsked) return null;
  const before = asked.filter(({ at }) => at < found.since);
  if (before.length < fewestBefore) return null;
  // It must have stood clear of the noise.
  if ((median(before.map(carried)) ?? 0) < 1.5 * noise) return null;
  const silentBefore = before.filter((sit) => answer(sit) === silent).length;
  const ifSound = Math.max(leastSilent, (silentBefore + 1) / (before.length + 2));
  return brokenSince(asked, answer, place, { prior, ifBroken: 0.95, ifSound, ceiling });
}

/** Place of the neighbouring line that carries more, over all sits. */
function innerNeighbour(sits: readonly SitReading[], { line, index }: LinePlace, shape: GridShape): number {
  const last = (line === "row" ? shape.rows : shape.columns) - 1;
  const carries = (side: number): number => {
    if (side < 0 || side > last) return Number.NEGATIVE_INFINITY;
    const place = placeOf({ line, index: side }, shape);
    return sits.reduce((sum, sit) => sum + (sit.carried[place] ?? 0), 0);
  };
  return placeOf({ line, index: carries(index - 1) >= carries(index + 1) ? index - 1 : index + 1 }, shape);
}
