import { cellName } from "../../sensor-grid/cell-name.ts";
import type { GridHealth } from "../../sensor-grid/grid-health.ts";
import type { InsertTurned } from "../../sensor-grid/insert-placing.ts";
import type { ShapeChanged } from "../../sensor-grid/load-shape.ts";
import type { MoisturePatch } from "../../sensor-grid/moisture-patch.ts";
import type { ShapeChange } from "../../sensor-grid/shape-measures.ts";
import { placingWords } from "../../sensor-grid/symmetries.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** What goes wrong with a grid other than a cell or line that is simply broken. */
export function gridUseFindings({ grid }: UnitHealth): FoundNow[] {
  if (!grid) return [];
  return [
    ...shorted(grid),
    ...loose(grid),
    ...(grid.moisture ? [moist(grid.moisture, grid)] : []),
    ...(grid.turned ? [turnedFinding(grid.turned)] : []),
    ...grid.shapeChanges.map(shapeFinding),
  ];
}

const shorted = ({ shorted: pairs }: GridHealth): FoundNow[] =>
  pairs.map(({ line, index, probability, since, agreeing }) => ({
    kind: "lines-shorted",
    where: `${line}s ${index + 1} and ${index + 2}`,
    level: "act-soon",
    probability,
    since,
    sentence: `${line === "row" ? "Rows" : "Columns"} ${index + 1} and ${index + 2} read the same, empty and sat on, in ${sits(agreeing)}: what presses on one shows as a ghost on the other.`,
    mistakenFor: "two lines under one even load",
    settledBy: "A line sweep on the bench: press one line and read the other.",
  }));

const loose = ({ intermittent }: GridHealth): FoundNow[] =>
  intermittent.map(({ line, index, probability, since, silent, asked, changes }) => ({
    kind: "connector-loose",
    where: `${line} ${index + 1}`,
    level: "act-soon",
    probability,
    since,
    sentence: `${line === "row" ? "Row" : "Column"} ${index + 1} was silent in ${silent} of ${sits(asked)} and changed ${changes} times from one sit to the next, while somebody transferred.`,
    mistakenFor: "somebody who sits down in different places",
    settledBy: "Cable flexed on the bench while the line is read.",
  }));

function moist({ cells, since, probability, course, readings }: MoisturePatch, grid: GridHealth): FoundNow {
  return {
    kind: "moisture",
    where: "",
    level: course === "drying" ? "watch" : "act-soon",
    probability,
    since,
    sentence: `${cells.length} neighbouring cells around ${cellName(cells[0] ?? 0, grid.columns)} read high with nobody on the seat, in ${readings} readings; ${courseWords[course]}. Stop charging it until somebody has looked.`,
    mistakenFor: "an object left on the seat, or a long warm sit",
    settledBy: "A look under the cover; handle continence kindly. If it dries, the empty reading comes back.",
  };
}

const courseWords = {
  growing: "the patch grows",
  steady: "it does not change",
  drying: "it is going back",
} as const;

function turnedFinding({ placing, probability, since, agreeing }: InsertTurned): FoundNow {
  return {
    kind: "insert-turned",
    where: "",
    // One sit may be somebody who sat down oddly once.
    level: agreeing > 1 ? "act-soon" : "watch",
    probability,
    since,
    sentence: `The load lies as if the insert had been ${placingWords(placing)}, in ${sits(agreeing)}. Leans may be told as leans the other way, or not at all.`,
    mistakenFor:
      placing === "mirrored" ? "somebody who now sits to the other side" : "another chair or another person",
    settledBy: "A call: which way does the cable come out? Then a lean watched with live frames.",
  };
}

interface Words {
  readonly sentence: (change: ShapeChanged) => string;
  readonly mistakenFor: string;
  readonly settledBy: string;
}

const shapeWords: Readonly<Record<ShapeChange, Words>> = {
  "insert-shifted": {
    sentence: ({ before, now, sits: count }) =>
      `The middle of the load lies ${Math.abs(now - before).toFixed(1)} cells from where it lay, in the last ${sits(count)}.`,
    mistakenFor: "somebody who sits down elsewhere, or a new backrest",
    settledBy: "A look at the seat: is the insert square and against its stops?",
  },
  "insert-folded": {
    sentence: ({ sits: count }) =>
      `An edge reads like the line inside it, and the two together more than they did, in the last ${sits(count)}, as if the edge were folded under.`,
    mistakenFor: "somebody who sits further towards that edge, or a shifted insert",
    settledBy: "A look at the seat with the cover off.",
  },
  "foam-bottoming": {
    sentence: ({ before, now, sits: count }) =>
      `The most loaded cells carry ${Math.round(100 * now)} % of the load; they carried ${Math.round(100 * before)} % (last ${sits(count)}).`,
    mistakenFor: "weight lost, or another posture",
    settledBy: "A hand check under the sit bones by a clinician or seating service, as local policy says.",
  },
  "cover-loose": {
    sentence: ({ sits: count }) =>
      `How neighbouring cells differ changes from sit to sit as it didn’t before, in the last ${sits(count)}, as under a cover that wrinkles.`,
    mistakenFor: "clothing, a sling left under, or cells of uneven gain",
    settledBy: "A look at the cover: flat, dry, the right way round?",
  },
};

function shapeFinding(change: ShapeChanged): FoundNow {
  const { sentence, mistakenFor, settledBy } = shapeWords[change.change];
  return {
    kind: change.change,
    where: "",
    level: change.change === "foam-bottoming" ? "act-soon" : "watch",
    probability: change.probability,
    since: change.since,
    sentence: sentence(change),
    mistakenFor,
    settledBy,
  };
}

const sits = (count: number): string => (count === 1 ? "1 sit" : `${count} sits`);
