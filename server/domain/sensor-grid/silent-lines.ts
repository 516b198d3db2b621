import type { GridShape, Line } from "./expected-response.ts";
import { linesOf } from "./lines.ts";
import { silentAgainstItself } from "./own-history.ts";
import { type Flicker, quietSince } from "./quiet-lines.ts";
import type { SitReading } from "./sit-reading.ts";
import { type BrokenOdds, type BrokenSince, brokenSince } from "./unbroken-evidence.ts";

/** A whole row or column that doesn't answer though its neighbours do: one broken trace, not sixteen broken cells. */
export interface SilentLine extends BrokenSince {
  readonly line: Line;
  /** From 0: rows from the front, columns from the person's left. */
  readonly index: number;
  /** What it was found by; `agreeing` counts sits of one, days of the other. */
  readonly told: "by-load" | "by-noise";
}

/** Assumptions: no published rate of broken lines is at hand. */
const odds: BrokenOdds = { prior: 0.001, ifBroken: 0.95, ifSound: 0.03, ceiling: 0.99 };

/** Three ways to see it: by the load beside it; where hardly any load reaches, by its own past; where none does, by its
 *  noise.
 *  @param sits oldest first; @param flickers a day each, oldest first
 *  @returns lines more likely broken than not, likeliest first */
export function silentLines(
  sits: readonly SitReading[],
  flickers: readonly Flicker[],
  shape: GridShape,
): SilentLine[] {
  return linesOf(shape)
    .flatMap(({ line, index }, place): SilentLine[] => {
      const found =
        brokenSince(sits, lineAnswerOf, place, odds) ?? silentAgainstItself(sits, { line, index }, shape);
      if (found) return [{ line, index, told: "by-load", ...found }];
      const quiet = quietSince(flickers, { line, index }, shape);
      return quiet ? [{ line, index, told: "by-noise", ...quiet }] : [];
    })
    .sort((a, b) => b.probability - a.probability);
}

const lineAnswerOf = ({ lines }: SitReading, place: number): number => lines[place] ?? 0;
