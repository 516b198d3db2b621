import { openAnswer, type SitReading, stuckAnswer } from "./sit-reading.ts";
import { type BrokenOdds, type BrokenSince, brokenSince } from "./unbroken-evidence.ts";

export interface BrokenCell extends BrokenSince {
  readonly cell: number;
}

/** Assumptions. The ceilings are lower than a line's: a hollow in a cushion, a wallet or a seam can do the same to
 *  one cell, sit after sit. */
const openOdds: BrokenOdds = { prior: 0.0003, ifBroken: 0.95, ifSound: 0.01, ceiling: 0.9 };
const stuckOdds: BrokenOdds = { prior: 0.0005, ifBroken: 0.95, ifSound: 0.01, ceiling: 0.95 };

/** Cells that read the same high count empty and loaded. @param sits oldest first; @param except masked ones */
export const stuckCells = (sits: readonly SitReading[], except: ReadonlySet<number>): BrokenCell[] =>
  brokenCells(sits, except, stuckAnswer, stuckOdds);

/** Cells that stay silent where the cells both beside and before and behind them are clearly loaded. Those of a silent
 *  line, and stuck ones, are told of already.
 *  @param except cells that are */
export const openCells = (sits: readonly SitReading[], except: ReadonlySet<number>): BrokenCell[] =>
  brokenCells(sits, except, openAnswer, openOdds);

function brokenCells(
  sits: readonly SitReading[],
  except: ReadonlySet<number>,
  answer: (sit: SitReading, cell: number) => number,
  odds: BrokenOdds,
): BrokenCell[] {
  const found: BrokenCell[] = [];
  const cells = sits[0]?.cells.length ?? 0;
  for (let cell = 0; cell < cells; cell++) {
    const broken = except.has(cell) ? null : brokenSince(sits, answer, cell, odds);
    if (broken) found.push({ cell, ...broken });
  }
  return found;
}
