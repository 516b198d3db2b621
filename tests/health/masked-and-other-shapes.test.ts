import { describe, expect, it } from "vitest";
import type { Fault } from "../../scripts/simulated-cushions/faults.ts";
import type { GridModel } from "../../scripts/simulated-cushions/seat-load.ts";
import { usualCell } from "../../server/domain/battery/cell-description.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { unitHealth } from "../../server/domain/condition/unit-health.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import type { MaskedCells } from "../../server/domain/sensor-grid/masked-cells.ts";
import { instant, type Span } from "../../server/domain/units.ts";
import { localDaysOf } from "../../server/programme/assessed-span.ts";
import { live, start } from "../simulated-cushions/cast.ts";
import { testServices, testZone } from "../support/cast.ts";
import { deliver } from "./recorded.ts";

const day = 86_400_000;
const days = 8;
const over: Span = { start: instant(start), end: instant(start + days * day) };

async function healthWith(
  spec: { readonly faults?: readonly Fault[]; readonly grid?: GridModel },
  masked: MaskedCells | null,
) {
  const { cushion } = live({ days, spec, seed: "masked" });
  const services = testServices({ empty: true });
  try {
    await deliver(services.telemetry, cushion.store.messages, over.end);
    const record = await services.telemetry.read(unitSerial("CU-000901"), over);
    const health = unitHealth(record, over, localDaysOf(over, testZone), over.end, [], {
      masked,
      cell: usualCell,
    });
    return { health, places: findingsOf(health).found.map(({ kind, where }) => `${kind} ${where}`) };
  } finally {
    services.close();
  }
}

const stuck: Fault = { kind: "cell-stuck", from: start, row: 7, column: 6, counts: 150 };
const open: Fault = { kind: "cell-open", from: start, row: 7, column: 7 };
const two: MaskedCells = { rows: 10, columns: 10, cells: [76, 77] };

describe("cells with which a unit passed the bench though they don’t count", () => {
  it("raise no alarm again, not by the unit’s own test either, and are shown as masked", async () => {
    const plain = await healthWith({ faults: [stuck, open] }, null);
    expect(plain.places).toContain("cell-stuck row 8, column 7");
    expect(plain.places).toContain("cell-open row 8, column 8");
    const { health, places } = await healthWith({ faults: [stuck, open] }, two);
    expect(places).toEqual([]);
    expect(health.grid?.states.flatMap((state, cell) => (state === "masked" ? [cell] : []))).toEqual(
      two.cells,
    );
    expect(health.grid?.shapeJudged).toBe(true);
  });

  it("leave the rest of the grid under watch", async () => {
    const { places } = await healthWith(
      { faults: [stuck, { kind: "column-open", from: start, column: 2 }] },
      two,
    );
    expect(places).toEqual(["column-open column 3 of 10, left side"]);
  });

  it("show no lean: a masked half of the load hides leans off it", async () => {
    const right = Array.from({ length: 100 }, (_, cell) => cell).filter((cell) => cell % 10 >= 6);
    const { health } = await healthWith({}, { rows: 10, columns: 10, cells: right });
    const sight = new Map(health.grid?.visibility.map((each) => [each.direction, each]));
    expect(sight.get("left")?.sight).toBe("blind");
    expect(sight.get("left")?.outOfTen.best).toBeLessThan(sight.get("right")?.outOfTen.best ?? 0);
  });

  it("of another grid than the one that reports now say nothing of it", async () => {
    const { places } = await healthWith({ faults: [stuck] }, { rows: 9, columns: 9, cells: [76] });
    expect(places).toContain("cell-stuck row 8, column 7");
  });
});

describe("a grid of another shape is data alone", () => {
  const wide: GridModel = { rows: 6, columns: 10, pitchMillimetres: 42 };

  it("six lines by ten, sound: nothing is raised", async () => {
    const { health, places } = await healthWith({ grid: wide }, null);
    expect(places).toEqual([]);
    expect(health.grid?.states).toHaveLength(60);
  });

  it("six lines by ten with a dead column and corners that have no cells: the column alone is named", async () => {
    const corners = [0, 9, 50, 59];
    const absent = corners.map(
      (cell): Fault => ({ kind: "cell-open", from: start, row: Math.floor(cell / 10), column: cell % 10 }),
    );
    const column: Fault = { kind: "column-open", from: start + 2 * day, column: 6 };
    const { health, places } = await healthWith(
      { grid: wide, faults: [...absent, column] },
      { ...wide, cells: corners },
    );
    expect(places).toEqual(["column-open column 7 of 10, right side"]);
    expect(health.grid?.states.filter((state) => state === "masked")).toHaveLength(4);
  });
});
