import { type Instant, type Probability, probability } from "../units.ts";
import type { GridShape, Line } from "./expected-response.ts";
import type { SitPromise } from "./silence.ts";
import { cellsOf, lookAtLine } from "./silent-lines.ts";

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
export function intermittentLines(
  sits: readonly SitPromise[],
  shape: GridShape,
  except: readonly { readonly line: Line; readonly index: number }[],
): IntermittentLine[] {
  const found: IntermittentLine[] = [];
  for (const line of ["row", "column"] as const) {
    const count = line === "row" ? shape.rows : shape.columns;
    for (let index = 0; index < count; index++) {
      if (except.some((known) => known.line === line && known.index === index)) continue;
      const cells = cellsOf(line, index, shape);
      const loose = judge(sits.flatMap((sit) => lookAtLine(sit, line, cells)));
      if (loose) found.push({ line, index, ...loose });
    }
  }
  return found;
}

function judge(
  looks: readonly { readonly at: Instant; readonly broken: boolean }[],
): Omit<IntermittentLine, "line" | "index"> | null {
  const from = looks.findIndex(({ broken }) => broken);
  if (from === -1) return null;
  const asked = looks.slice(from);
  const first = asked[0];
  if (!first) return null;
  const silent = asked.filter(({ broken }) => broken).length;
  const changes = asked.filter(
    ({ broken }, index) => index > 0 && broken !== asked[index - 1]?.broken,
  ).length;
  if (changes < fewestChanges) return null;
  // The first is silent because it was looked for: it is left out of the count.
  const logOdds =
    Math.log(prior / (1 - prior)) +
    (silent - 1) * Math.log(ifLoose / ifSound) +
    (asked.length - silent) * Math.log((1 - ifLoose) / (1 - ifSound));
  const loose = 1 / (1 + Math.exp(-logOdds));
  if (loose < 0.5) return null;
  return {
    probability: probability(Math.min(ceiling, loose)),
    since: first.at,
    silent,
    asked: asked.length,
    changes,
  };
}
