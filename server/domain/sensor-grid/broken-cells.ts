import { median } from "../statistics/median.ts";
import { clearlyLoaded, isSilent, type SitPromise } from "./silence.ts";
import { type BrokenOdds, type BrokenSince, brokenSince, type Look } from "./unbroken-evidence.ts";

export interface BrokenCell extends BrokenSince {
  readonly cell: number;
}

/** Assumptions. The ceilings are lower than a line's: a hollow in a cushion, a wallet or a seam can do the same to
 *  one cell, sit after sit. */
const openOdds: BrokenOdds = { prior: 0.0003, ifBroken: 0.95, ifSound: 0.01, ceiling: 0.9 };
const stuckOdds: BrokenOdds = { prior: 0.0005, ifBroken: 0.95, ifSound: 0.01, ceiling: 0.95 };

/** Counts above the middle of all empty cells at which a cell is held by something that isn't a body. Assumption. */
const stuckAbove = 60;
/** A stuck cell hardly moves when somebody sits down. Assumption. */
const stuckMoves = 6;

/** Cells that read the same high count empty and loaded. */
export function stuckCells(sits: readonly SitPromise[]): BrokenCell[] {
  const pairs = sits.flatMap(({ at, counts, emptyBefore }) => {
    const usual = emptyBefore && median(emptyBefore);
    return emptyBefore && usual !== null ? [{ at, counts, emptyBefore, usual }] : [];
  });
  return eachCell(sits, (cell) =>
    brokenSince(
      pairs.map(({ at, counts, emptyBefore, usual }): Look => {
        const empty = emptyBefore[cell] ?? 0;
        return {
          at,
          broken: empty > usual + stuckAbove && Math.abs((counts[cell] ?? 0) - empty) < stuckMoves,
        };
      }),
      stuckOdds,
    ),
  );
}

/** Cells that stay silent where the cells both beside and before and behind them are clearly loaded. Those of a silent
 *  line, and stuck ones, are told of already.
 *  @param except cells that are */
export function openCells(sits: readonly SitPromise[], except: ReadonlySet<number>): BrokenCell[] {
  return eachCell(sits, (cell) => {
    if (except.has(cell)) return null;
    const looks = sits.flatMap((sit): Look[] => {
      const expected = Math.min(sit.row[cell] ?? 0, sit.column[cell] ?? 0);
      if (expected < clearlyLoaded) return [];
      return [{ at: sit.at, broken: isSilent(sit.response[cell] ?? 0, expected) }];
    });
    return brokenSince(looks, openOdds);
  });
}

function eachCell(sits: readonly SitPromise[], judge: (cell: number) => BrokenSince | null): BrokenCell[] {
  const cells = sits[0]?.counts ?? [];
  return cells.flatMap((_, cell) => {
    const found = judge(cell);
    return found ? [{ cell, ...found }] : [];
  });
}
