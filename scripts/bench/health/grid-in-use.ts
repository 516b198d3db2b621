import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import type { Fault } from "../../simulated-cushions/faults.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";
import type { GridModel } from "../../simulated-cushions/seat-load.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { foundAt, trueLoad } from "./dead-zones.ts";
import { fleetStart, liveUnit } from "./fleet.ts";
import {
  bottoming,
  gridMade,
  looseColumn,
  objectLeft,
  type Spoil,
  shortedRows,
  spoilFrames,
  turned,
  wetPatch,
} from "./overlay.ts";
import { type BenchOptions, type Row, round, shareOf } from "./rows.ts";
import { tooFewToTell } from "./too-few-to-tell.ts";

const breaksAfter = 8;
const from = fleetStart + breaksAfter * day;

interface Spoilt {
  readonly record: UnitRecord;
  readonly leftOverRight: number;
}

function spoiltUnit(
  name: string,
  days: number,
  spoil: (grid: GridModel) => Spoil,
  faults: (grid: GridModel) => readonly Fault[] = () => [],
): Spoilt {
  const lived = liveUnit(name, { days: breaksAfter + days, faults });
  const frames = spoilFrames(lived.record.frames, gridMade(name, lived.grid), from, spoil(lived.grid));
  return { record: { ...lived.record, frames }, leftOverRight: lived.person.habits.leftOverRight };
}

/** All seven wrong ways alike. */
export function turnedInserts({ quick, seed }: BenchOptions): Row {
  const units = quick ? 21 : 210;
  let found = 0;
  let named = 0;
  let mirrors = 0;
  let mirrorsFound = 0;
  for (let unit = 0; unit < units; unit++) {
    const way = unit % 7;
    const lived = spoiltUnit(`${seed}/turned/${unit}`, 1, (grid) => turned(grid, way));
    const hit = foundAt(lived, from + day).find(({ kind }) => kind === "insert-turned");
    if (hit) found++;
    if (hit?.sentence.includes(` ${wayWords[way]},`)) named++;
    if (way === 0) mirrors++;
    if (way === 0 && hit) mirrorsFound++;
  }
  const value = shareOf(found, units);
  return {
    name: "insert turned or mirrored, found within a day of use",
    value: round(value),
    unit: "share",
    bar: ">= 0.95",
    holds: value >= 0.95,
    beside: `${units} units; the way named rightly in ${round(shareOf(named, units))}; plain left-right mirrors alone ${mirrorsFound} of ${mirrors} (a body that sits evenly shows none)${tooFewToTell(found, units, [0.95])}`,
  };
}

const wayWords = [
  "mirrored",
  "turned half",
  "mirrored and turned half",
  "mirrored and turned left",
  "turned right",
  "turned left",
  "mirrored and turned right",
];

interface Other {
  readonly kind: string;
  readonly days: number;
  /** Laid over a sound record; left out: the simulated grid has this fault itself. */
  readonly spoil?: (grid: GridModel, name: string) => Spoil;
  readonly faults?: (grid: GridModel) => readonly Fault[];
}

const peakColumn = (name: string, grid: GridModel): number => {
  const load = trueLoad(name, grid);
  return load.indexOf(Math.max(...load)) % grid.columns;
};

const others: readonly Other[] = [
  {
    kind: "connector-loose",
    days: 7,
    spoil: (grid, name) => looseColumn(grid, peakColumn(name, grid), name),
  },
  { kind: "lines-shorted", days: 3, spoil: (grid) => shortedRows(grid, Math.floor(grid.rows * 0.7)) },
  { kind: "moisture", days: 0.6, spoil: (grid, name) => wetPatch(grid, from, randomFrom(`${name}/wet`)) },
  {
    kind: "insert-shifted",
    days: 4,
    faults: ({ columns }) => [{ kind: "insert-shifted", from, columns: columns > 12 ? 2 : 1 }],
  },
  { kind: "insert-folded", days: 4, faults: () => [{ kind: "edge-folded", from }] },
  { kind: "cover-loose", days: 4, faults: () => [{ kind: "cover-loose", from }] },
  { kind: "foam-bottoming", days: 4, spoil: () => bottoming },
];

/** Faults without a bar of their own, and a mimic: told, not judged. */
export function otherGridFaults({ quick, seed }: BenchOptions): string[] {
  const units = quick ? 4 : 40;
  const lines = others.map(({ kind, days, spoil, faults = () => [] }) => {
    let found = 0;
    for (let unit = 0; unit < units; unit++) {
      const name = `${seed}/${kind}/${unit}`;
      const lived = spoiltUnit(
        name,
        Math.ceil(days),
        (grid) => spoil?.(grid, name) ?? ((load) => ({ load })),
        faults,
      );
      if (foundAt(lived, from + days * day).some((each) => each.kind === kind)) found++;
    }
    return `${kind}: ${found} of ${units} found within ${days} days`;
  });
  let fooled = 0;
  for (let unit = 0; unit < units; unit++) {
    const lived = spoiltUnit(`${seed}/object/${unit}`, 1, (grid) => objectLeft(grid, from + day / 24));
    if (foundAt(lived, from + day).some(({ kind }) => kind === "moisture" || kind === "cell-stuck")) fooled++;
  }
  return [...lines, `an object left on the seat for an hour called moisture or stuck: ${fooled} of ${units}`];
}
