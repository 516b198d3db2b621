import type { GridShape, Line } from "./expected-response.ts";
import { linesOf } from "./lines.ts";
import { silentAgainstItself } from "./own-history.ts";
import type { SitReading } from "./sit-reading.ts";
import { type BrokenOdds, type BrokenSince, brokenSince } from "./unbroken-evidence.ts";

/** A whole row or column that doesn't answer though its neighbours do: one broken trace, not sixteen broken cells. */
export interface SilentLine extends BrokenSince {
  readonly line: Line;
  /** From 0: rows from the front, columns from the person's left. */
  readonly index: number;
}

/** Assumptions: no published rate of broken lines is at hand. */
const odds: BrokenOdds = { prior: 0.001, ifBroken: 0.95, ifSound: 0.03, ceiling: 0.99 };

/** @param sits oldest first
 *  @returns lines more likely broken than not, likeliest first */
export function silentLines(sits: readonly SitReading[], shape: GridShape): SilentLine[] {
  return linesOf(shape)
    .flatMap(({ line, index }, place): SilentLine[] => {
      const found =
        brokenSince(sits, lineAnswerOf, place, odds) ?? silentAgainstItself(sits, { line, index }, shape);
      return found ? [{ line, index, ...found }] : [];
    })
    .sort((a, b) => b.probability - a.probability);
}

const lineAnswerOf = ({ lines }: SitReading, place: number): number => lines[place] ?? 0;
