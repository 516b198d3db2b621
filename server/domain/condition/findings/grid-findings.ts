import type { BrokenCell } from "../../sensor-grid/broken-cells.ts";
import { cellName } from "../../sensor-grid/cell-name.ts";
import type { GridHealth } from "../../sensor-grid/grid-health.ts";
import type { SilentLine } from "../../sensor-grid/silent-lines.ts";
import type { ConditionLevel } from "../condition.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

export function gridFindings({ grid }: UnitHealth): FoundNow[] {
  if (!grid) return [];
  return [
    ...grid.lines.map((line) => lineFinding(line, grid)),
    ...grid.open.map((cell) => openFinding(cell, grid)),
    ...grid.stuck.map((cell) => stuckFinding(cell, grid)),
  ];
}

function lineFinding(silent: SilentLine, grid: GridHealth): FoundNow {
  const where = lineName(silent, grid);
  return {
    kind: silent.line === "row" ? "row-open" : "column-open",
    where,
    level: harmOf(grid),
    probability: silent.probability,
    since: silent.since,
    sentence: `${where.charAt(0).toUpperCase()}${where.slice(1)}, ${silenceWords(silent)}. ${hiddenWords(grid)}`,
    mistakenFor:
      silent.told === "by-load" ? "somebody who always sits to the other side" : "a quieter place or supply",
    settledBy: "A line sweep on the bench; at home, a lean test watched with live frames.",
  };
}

function openFinding(broken: BrokenCell, grid: GridHealth): FoundNow {
  const where = cellName(broken.cell, grid.columns);
  return {
    kind: "cell-open",
    where,
    level: harmOf(grid),
    probability: broken.probability,
    since: broken.since,
    sentence: `The cell in ${where} has not answered in ${sitsWords(broken.agreeing)} though the cells all round it did. ${hiddenWords(grid)}`,
    mistakenFor: "a hollow in the foam, or a shape this body leaves unloaded",
    settledBy: "A weight put on that cell on the bench.",
  };
}

function stuckFinding(broken: BrokenCell, grid: GridHealth): FoundNow {
  const where = cellName(broken.cell, grid.columns);
  return {
    kind: "cell-stuck",
    where,
    level: harmOf(grid),
    probability: broken.probability,
    since: broken.since,
    sentence: `The cell in ${where} read the same, empty and sat on, in ${sitsWords(broken.agreeing)}. ${hiddenWords(grid)}`,
    mistakenFor: "an object left on the seat",
    settledBy: "An empty reading after somebody has looked at the seat.",
  };
}

const silenceWords = ({ told, agreeing }: SilentLine): string =>
  told === "by-load"
    ? `has not answered in ${sitsWords(agreeing)} though the cells beside it did`
    : `hardly flickers where nothing presses on it, for ${agreeing === 1 ? "a day" : `${agreeing} days`}, as a line without current does; too little load reaches it to tell by that`;

/** What hides reliefs makes somebody look as if they did none: that comes sooner. */
const harmOf = (grid: GridHealth): ConditionLevel =>
  grid.visibility.some(({ sight }) => sight !== "sees") ? "act-soon" : "watch";

function hiddenWords({ visibility }: GridHealth): string {
  const hidden = visibility.filter(({ sight }) => sight !== "sees");
  if (hidden.length === 0) return "It hides no lean of this person’s usual depth.";
  const told = hidden.map(
    ({ direction, outOfTen }) => `${Math.round(outOfTen.best)} of ten ${direction} leans`,
  );
  return `It would show about ${told.join(" and ")}: reliefs that are done may not be in the record.`;
}

const sitsWords = (count: number): string => (count === 1 ? "1 sit" : `${count} sits`);

function lineName({ line, index }: SilentLine, { rows, columns }: GridHealth): string {
  if (line === "row") return `row ${index + 1} of ${rows}, ${2 * index + 1 < rows ? "front" : "rear"} half`;
  return `column ${index + 1} of ${columns}, ${2 * index + 1 < columns ? "left" : "right"} side`;
}
