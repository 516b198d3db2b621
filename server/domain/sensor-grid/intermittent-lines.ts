import { type Instant, type Probability, probability } from "../units.ts";
import type { GridShape, Line } from "./expected-response.ts";
import { type LinePlace, linesOf } from "./lines.ts";
import { nothing, type SitReading, silent as wasSilent } from "./sit-reading.ts";

/** A line that answers in some sits and not in others: a connector that moves when somebody moves. */
export interface IntermittentLine {
  readonly line: Line;
  readonly index: number;
  readonly probability: Probability;
  readonly since: Instant;
  readonly silent: number;
  readonly asked: number;
  /** Times it changed from one sit to the next: while somebody transferred. */
  readonly changes: number;
}

/** Chance that a look at a sound line finds it silent, and at a loose one. Assumptions, as for silent lines. */
const ifSound = 0.03;
const ifLoose = 0.4;
const prior = 0.001;
const ceiling = 0.95;
/** One bad stretch is a broken line that was mended, not a loose one. */
const fewestChanges = 3;

/** @param sits oldest first; @param except lines that are broken for good */
export const intermittentLines = (
  sits: readonly SitReading[],
  shape: GridShape,
  except: readonly LinePlace[],
): IntermittentLine[] =>
  linesOf(shape).flatMap(({ line, index }, place) => {
    if (except.some((known) => known.line === line && known.index === index)) return [];
    const loose = judge(sits, place);
    return loose ? [{ line, index, ...loose }] : [];
  });

function judge(sits: readonly SitReading[], place: number): Omit<IntermittentLine, "line" | "index"> | null {
  let since: Instant | null = null;
  let asked = 0;
  let silent = 0;
  let changes = 0;
  let before = nothing;
  for (const { at, lines } of sits) {
    const says = lines[place] ?? nothing;
    if (says === nothing || (since === null && says !== wasSilent)) continue;
    since ??= at;
    asked++;
    if (says === wasSilent) silent++;
    if (before !== nothing && before !== says) changes++;
    before = says;
  }
  if (since === null || changes < fewestChanges) return null;
  // The first is silent because it was looked for: it is left out of the count.
  const logOdds =
    Math.log(prior / (1 - prior)) +
    (silent - 1) * Math.log(ifLoose / ifSound) +
    (asked - silent) * Math.log((1 - ifLoose) / (1 - ifSound));
  const loose = 1 / (1 + Math.exp(-logOdds));
  if (loose < 0.5) return null;
  return { probability: probability(Math.min(ceiling, loose)), since, silent, asked, changes };
}
