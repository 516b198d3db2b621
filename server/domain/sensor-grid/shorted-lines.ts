import type { GridShape, Line } from "./expected-response.ts";
import { cellsOf } from "./silent-lines.ts";
import type { Sit } from "./sits.ts";
import { type BrokenSince, brokenSince, type Look } from "./unbroken-evidence.ts";

/** Two lines beside each other that read the same, empty and loaded: they touch, and what presses on one shows as a
 *  ghost on the other. */
export interface ShortedLines extends BrokenSince {
  readonly line: Line;
  /** The first of the two, from 0. */
  readonly index: number;
}

const odds = { prior: 0.0005, ifBroken: 0.95, ifSound: 0.02, ceiling: 0.97 };
/** Two readings of one pair of joined lines differ by noise alone; cells of sound lines were never made alike. Share of
 *  the cells that must agree, and by how much. Assumptions. */
const agreeingShare = 0.85;
const alikeEmpty = 1.5;
const alikeLoaded = 0.06;

/** @param sits oldest first; @param except lines told of already: two silent lines read alike */
export function shortedLines(
  sits: readonly Sit[],
  shape: GridShape,
  except: readonly { readonly line: Line; readonly index: number }[],
): ShortedLines[] {
  const found: ShortedLines[] = [];
  for (const line of ["row", "column"] as const) {
    const count = line === "row" ? shape.rows : shape.columns;
    for (let index = 0; index + 1 < count; index++) {
      if (except.some((known) => known.line === line && (known.index === index || known.index === index + 1)))
        continue;
      const one = cellsOf(line, index, shape);
      const other = cellsOf(line, index + 1, shape);
      const shorted = brokenSince(
        sits.flatMap((sit) => lookAt(sit, one, other)),
        odds,
      );
      if (shorted) found.push({ line, index, ...shorted });
    }
  }
  return found;
}

function lookAt({ at, counts, emptyBefore }: Sit, one: readonly number[], other: readonly number[]): Look[] {
  if (!emptyBefore) return [];
  const share = (alike: (a: number, b: number) => boolean) =>
    one.filter((cell, place) => alike(cell, other[place] ?? cell)).length / one.length;
  const empty = share((a, b) => Math.abs((emptyBefore[a] ?? 0) - (emptyBefore[b] ?? 0)) <= alikeEmpty);
  const loaded = share((a, b) => {
    const first = counts[a] ?? 0;
    const second = counts[b] ?? 0;
    return Math.abs(first - second) <= alikeEmpty + alikeLoaded * Math.max(first, second);
  });
  return [{ at, broken: empty >= agreeingShare && loaded >= agreeingShare }];
}
