import type { GridShape, Line } from "./expected-response.ts";
import { type LinePlace, pairsOf } from "./lines.ts";
import type { SitReading } from "./sit-reading.ts";
import { type BrokenSince, brokenSince } from "./unbroken-evidence.ts";

/** Two lines beside each other that read the same, empty and loaded: they touch, and what presses on one shows as a
 *  ghost on the other. */
export interface ShortedLines extends BrokenSince {
  readonly line: Line;
  /** The first of the two, from 0. */
  readonly index: number;
}

const odds = { prior: 0.0005, ifBroken: 0.95, ifSound: 0.02, ceiling: 0.97 };

/** @param sits oldest first; @param except lines told of already: two silent lines read alike */
export const shortedLines = (
  sits: readonly SitReading[],
  shape: GridShape,
  except: readonly LinePlace[],
): ShortedLines[] =>
  pairsOf(shape).flatMap(({ line, index }, pair) => {
    if (except.some((known) => known.line === line && (known.index === index || known.index === index + 1)))
      return [];
    const shorted = brokenSince(sits, pairAnswerOf, pair, odds);
    return shorted ? [{ line, index, ...shorted }] : [];
  });

const pairAnswerOf = ({ pairs }: SitReading, pair: number): number => pairs[pair] ?? 0;
