import { describe, expect, it } from "vitest";
import type { Fault } from "../../scripts/simulated-cushions/faults.ts";
import type { GridModel } from "../../scripts/simulated-cushions/seat-load.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { type Lived, live, start, steadyHabits, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf, healthOfMessages } from "./recorded.ts";

const day = 86_400_000;
const days = 8;

const gridKinds = ["row-open", "column-open", "cell-open", "cell-stuck"];
async function gridFindings(lived: Lived) {
  const health = await healthOf(lived, start, days);
  const found = findingsOf(health).found.filter(({ kind }) => gridKinds.includes(kind));
  return { found, grid: health.grid };
}

/** Of ten leans really done since the fault, how many the firmware told of. */
function shownOfTen({ truth }: Lived, kind: string, from: number): number {
  const done = truth.events.filter(
    (event) => event.what === "relief" && event.kind === kind && event.at >= from,
  );
  const seen = done.filter((event) => event.what === "relief" && event.seen);
  return (10 * seen.length) / done.length;
}

describe("a sound grid", () => {
  const grids: GridModel[] = [
    { rows: 8, columns: 8, pitchMillimetres: 50 },
    { rows: 10, columns: 10, pitchMillimetres: 42 },
    { rows: 16, columns: 16, pitchMillimetres: 27 },
  ];
  const bodies = [
    { weightKilograms: 45, leftOverRight: 1.3 },
    { weightKilograms: 72, leftOverRight: 0.8 },
    { weightKilograms: 115, leftOverRight: 1 },
  ];
  const cases = grids.flatMap((grid) =>
    bodies.map((body) => ({ grid, body, name: `${grid.rows} x ${grid.columns}` })),
  );

  it.each(cases)("of $name under $body.weightKilograms kg raises no alarm", async ({ grid, body }) => {
    const person = { ...steadyPerson, habits: { ...steadyHabits, ...body } };
    const seed = `sound/${grid.rows}/${body.weightKilograms}`;
    const lived = live({ days, person, spec: { grid }, seed });
    const result = await gridFindings(lived);
    expect(result.grid?.sits).toBeGreaterThan(20);
    expect(result.found).toEqual([]);
  });
});

describe("a dead line", () => {
  const from = start + 5 * day;

  it.each([3, 4, 5, 6, 7])(
    "column %i (from 0) is named as the one fault it is, since it broke",
    async (column) => {
      const fault: Fault = { kind: "column-open", from, column };
      const lived = live({ days, spec: { faults: [fault] }, seed: `column/${column}` });
      const { found, grid } = await gridFindings(lived);
      expect(found.map(({ kind, where }) => `${kind}, ${where}`)).toEqual([
        `column-open, column ${column + 1} of 10, ${column < 5 ? "left" : "right"} side`,
      ]);
      expect(found[0]?.probability).toBeGreaterThan(0.95);
      // Never before it broke; on the flank of the load a sit or two may pass that say nothing of it.
      expect(found[0]?.since).toBeGreaterThanOrEqual(from);
      expect(found[0]?.since).toBeLessThan(from + 2 * day);
      expect(grid?.states.filter((state) => state === "open")).toHaveLength(10);
    },
  );

  it.each([5, 6, 7, 8])("row %i (from 0) is named as the one fault it is", async (row) => {
    const lived = live({ days, spec: { faults: [{ kind: "row-open", from, row }] }, seed: `row/${row}` });
    const { found } = await gridFindings(lived);
    expect(found.map(({ kind, where }) => `${kind}, ${where}`)).toEqual([
      `row-open, row ${row + 1} of 10, rear half`,
    ]);
  });

  it("clears when the line answers again", async () => {
    const broken = live({ days, spec: { faults: [{ kind: "column-open", from: start, column: 6 }] } });
    const mended = live({ days });
    const until = start + 3 * day;
    const early = (lived: Lived) => lived.cushion.store.messages;
    expect((await gridFindings(broken)).found).toHaveLength(1);
    // The same person and seed: the first days of one unit, then the rest as the sound one told them.
    const wall = (message: { wallSeconds: number | null }) => (message.wallSeconds ?? 0) * 1_000;
    const spliced = [
      ...early(broken).filter((message) => wall(message) < until),
      ...early(mended).filter((message) => wall(message) >= until),
    ]
      // A prompt names the relief that followed it by a sequence that changes here.
      .filter(({ kind }) => kind !== "prompt")
      .map((message, sequence) => ({ ...message, sequence }));
    const health = await healthOfMessages(spliced, start, days);
    expect(findingsOf(health).found.filter(({ kind }) => gridKinds.includes(kind))).toEqual([]);
  });
});

describe("a single broken cell", () => {
  const from = start + 2 * day;

  it("under a sit bone is found silent, since it broke", async () => {
    const lived = live({ days, spec: { faults: [{ kind: "cell-open", from, row: 7, column: 6 }] } });
    const { found } = await gridFindings(lived);
    expect(found.map(({ kind, where }) => `${kind}, ${where}`)).toEqual(["cell-open, row 8, column 7"]);
    expect(Math.abs((found[0]?.since ?? 0) - from)).toBeLessThan(0.6 * day);
  });

  it("is found stuck, wherever it is, since it stuck", async () => {
    const lived = live({
      days,
      spec: { faults: [{ kind: "cell-stuck", from, row: 2, column: 9, counts: 150 }] },
    });
    const { found } = await gridFindings(lived);
    expect(found.map(({ kind, where }) => `${kind}, ${where}`)).toEqual(["cell-stuck, row 3, column 10"]);
    expect(Math.abs((found[0]?.since ?? 0) - from)).toBeLessThan(0.6 * day);
  });
});

describe("what a broken grid would miss", () => {
  const cases: { fault: Fault; name: string }[] = [
    { name: "no fault", fault: { kind: "cell-open", from: start + 99 * day, row: 0, column: 0 } },
    ...[2, 3, 6, 7].map((column) => ({
      name: `column ${column} dead for the last half`,
      fault: { kind: "column-open", from: start + 5 * day, column } as const,
    })),
    ...[3, 6].map((column) => ({
      name: `column ${column} dead from the start`,
      fault: { kind: "column-open", from: start, column } as const,
    })),
    ...[6, 7].map((row) => ({
      name: `row ${row} dead for the last half`,
      fault: { kind: "row-open", from: start + 5 * day, row } as const,
    })),
  ];

  // The firmware's own detection on the simulated grid says what was shown; the console only sees what it was sent.
  it("agrees with what the simulated unit really showed, to a lean in ten on average", async () => {
    const errors: number[] = [];
    for (const { fault, name } of cases) {
      const lived = live({ days: 10, spec: { faults: [fault] }, seed: `visibility/${name}` });
      const { grid } = await healthOf(lived, start, 10);
      for (const { direction, outOfTen } of grid?.visibility ?? []) {
        const truth = shownOfTen(
          lived,
          `lean-${direction}`,
          fault.from > start + 10 * day ? start : fault.from,
        );
        errors.push(Math.abs(outOfTen.best - truth));
      }
    }
    expect(errors).toHaveLength(3 * cases.length);
    expect(errors.reduce((sum, error) => sum + error, 0) / errors.length).toBeLessThan(0.6);
    expect(Math.max(...errors)).toBeLessThan(3);
  });
});
