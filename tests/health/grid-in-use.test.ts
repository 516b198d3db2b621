import { describe, expect, it } from "vitest";
import { healthAt } from "../../scripts/bench/health/dead-zones.ts";
import { fleetStart, liveUnit } from "../../scripts/bench/health/fleet.ts";
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
} from "../../scripts/bench/health/overlay.ts";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import type { GridModel } from "../../scripts/simulated-cushions/seat-load.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { cellsAsPlaced, placings } from "../../server/domain/sensor-grid/symmetries.ts";

const day = 86_400_000;
const from = fleetStart + 8 * day;

function kindsWhen(name: string, days: number, spoil: (grid: GridModel) => Spoil) {
  const lived = liveUnit(name, { days: 8 + Math.ceil(days) });
  const frames = spoilFrames(lived.record.frames, gridMade(name, lived.grid), from, spoil(lived.grid));
  const health = healthAt({ record: { ...lived.record, frames } }, from + days * day);
  return { kinds: findingsOf(health).found.map(({ kind }) => kind), health };
}

describe("the eight ways a square insert can lie", () => {
  // The symmetries of a square form a group of order 8 (any textbook of algebra): all differ, and two in a row make one.
  it("are eight different orders of the cells, and two after each other make one of the eight", () => {
    const orders = placings.map((placing) => cellsAsPlaced(placing, { rows: 5, columns: 5 }));
    const known = new Set(orders.map(String));
    expect(known.size).toBe(8);
    for (const first of orders)
      for (const second of orders) expect(known.has(String(first.map((cell) => second[cell])))).toBe(true);
  });
});

describe("a grid in use", () => {
  it.each([1, 4])("put back the wrong way (%i) is found within a day", (way) => {
    const { kinds, health } = kindsWhen(`turned/${way}`, 1, (grid) => turned(grid, way));
    expect(kinds).toContain("insert-turned");
    expect(health.grid?.turned?.since).toBeGreaterThanOrEqual(from);
  });

  it("put back as it was is not called turned", () => {
    expect(kindsWhen("as it was", 1, () => (load) => ({ load })).kinds).toEqual([]);
  });

  it("with two rows that touch names them", () => {
    const { health, kinds } = kindsWhen("shorted", 3, (grid) => shortedRows(grid, 5));
    expect(kinds).toContain("lines-shorted");
    expect(health.grid?.shorted.map(({ line, index }) => `${line} ${index}`)).toEqual(["row 5"]);
  });

  it("with a loose connector is told from one that is broken", () => {
    const { kinds, health } = kindsWhen("loose", 7, (grid) =>
      looseColumn(grid, Math.floor(grid.columns * 0.6), "loose"),
    );
    expect(kinds).toContain("connector-loose");
    expect(kinds).not.toContain("column-open");
    expect(health.grid?.intermittent[0]?.changes).toBeGreaterThan(3);
  });

  it("that got wet shows a patch which persists empty and dries again", () => {
    const wet = (grid: GridModel) => wetPatch(grid, from, randomFrom("wet"));
    expect(kindsWhen("wet", 0.6, wet).kinds).toContain("moisture");
    const later = kindsWhen("wet", 4, wet);
    expect(later.kinds).not.toContain("moisture");
  });

  it("that carried a bag for an hour is neither wet nor broken", () => {
    const { kinds } = kindsWhen("bag", 1, (grid) => objectLeft(grid, from + day / 24));
    expect(kinds.filter((kind) => kind === "moisture" || kind === "cell-stuck")).toEqual([]);
  });

  it.each([
    ["insert-shifted", { kind: "insert-shifted", from, columns: 1 }],
    ["insert-folded", { kind: "edge-folded", from }],
    ["cover-loose", { kind: "cover-loose", from }],
  ] as const)("finds %s within four days, not before", (kind, fault) => {
    const lived = liveUnit(`lies/${kind}`, {
      days: 12,
      faults: ({ columns }) => [
        fault.kind === "insert-shifted" ? { ...fault, columns: columns > 12 ? 2 : 1 } : fault,
      ],
    });
    const kindsAt = (end: number) => findingsOf(healthAt(lived, end)).found.map((each) => each.kind);
    expect(kindsAt(from)).toEqual([]);
    expect(kindsAt(from + 4 * day)).toContain(kind);
  });

  it("over foam that gives out is told by the load gathered on the peaks", () => {
    expect(kindsWhen("foam", 4, () => bottoming).kinds).toContain("foam-bottoming");
  });
});
