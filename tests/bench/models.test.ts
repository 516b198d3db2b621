import { desc } from "drizzle-orm";
import { afterEach, beforeEach, expect, it } from "vitest";
import { describedCell, usualDraw } from "../../server/domain/battery/cell-description.ts";
import { judgeStep } from "../../server/domain/bench/judge-step.ts";
import { choicesFor, standingOf } from "../../server/domain/bench/outcome.ts";
import { usualTolerances } from "../../server/domain/bench/tolerances.ts";
import { cellsAsWritten, cellsFrom } from "../../server/domain/sensor-grid/cell-name.ts";
import { assessed } from "../../server/programme/assessed-span.ts";
import { startBenchSession } from "../../server/programme/bench-start.ts";
import { benchSessionById } from "../../server/store/bench-sessions.ts";
import { modelById } from "../../server/store/models.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { cast, signedInAs, things } from "../support/cast.ts";
import { done } from "../support/programme.ts";
import { addUnit, type BenchDesk, benchDesk } from "./desk.ts";

const path = `/bench/models/${things.model}`;
let desk: BenchDesk;

beforeEach(() => {
  desk = benchDesk();
});
afterEach(() => desk.services.close());

async function send(fields: Readonly<Record<string, string>>) {
  const response = await desk.app.request(path, signedInAs(desk.services, "technician").post(fields));
  return { status: response.status, text: await response.text() };
}

const modelNow = () => modelById(desk.services.db, things.model);

it("a maker's limits and a grid's missing corners are entered with their source, audited, and shown again", async () => {
  const sent = await send({
    seen: "1",
    absent: "1/1, 1/8\n8/1 8/8",
    from: "data sheet, edition 3",
    creep: "0.2",
  });
  expect(sent.status).toBe(303);
  expect(modelNow()).toMatchObject({
    version: 2,
    benchTolerances: { creep: 0.2 },
    tolerancesFrom: "data sheet, edition 3",
    absentCells: [0, 7, 56, 63],
  });
  const { headers } = signedInAs(desk.services, "technician");
  const shown = await (await desk.app.request(path, { headers })).text();
  expect(shown).toContain("1/1, 1/8, 8/1, 8/8");
  expect(shown).toContain("4 crossed out");
  const audited = desk.services.db.select().from(audit).orderBy(desc(audit.id)).limit(1).get();
  expect(audited).toMatchObject({
    action: "describe-model",
    detail: { limits: { creep: 0.2 }, absentBefore: [] },
  });
});

it("what a model draws is entered beside it, and what isn't said stays usual", async () => {
  expect((await send({ seen: "1", "draw-loaded": "19.5" })).text).toMatch(
    /Say where the numbers that differ/,
  );
  expect((await send({ seen: "1", "draw-loaded": "19.5", from: "data sheet" })).status).toBe(303);
  const model = modelNow();
  expect(model).toMatchObject({
    draw: { loaded: 19.5 },
    benchTolerances: null,
    tolerancesFrom: "data sheet",
  });
  expect(model && describedCell(model).draw).toEqual({ ...usualDraw, loaded: 19.5 });
});

it("what can't be is refused with its reason, and what was typed comes back", async () => {
  const wrong: readonly (readonly [Record<string, string>, number, RegExp])[] = [
    [{ creep: "0.2" }, 409, /Say where the numbers that differ come from/],
    [{ creep: "20", from: "sheet" }, 422, /Enter a number from 0.01 to 0.5, or nothing/],
    [{ repeats: "4.5", from: "sheet" }, 422, /Enter a whole number from 3 to 20/],
    [{ emptyLow: "40", from: "sheet" }, 409, /It must be above 40, the least/],
    [{ absent: "1/1 9/2" }, 422, /“9\/2” is no place of a grid of 8 rows and 8 columns/],
    [{ cellHighTemperature: "75", from: "sheet" }, 422, /from 20 to 60/],
  ];
  for (const [fields, status, sentence] of wrong) {
    const sent = await send({ seen: "1", ...fields });
    expect([fields, sent.status]).toEqual([fields, status]);
    expect(sent.text).toMatch(sentence);
    for (const typed of Object.values(fields)) expect(sent.text).toContain(typed);
  }
  expect(modelNow()).toMatchObject({ version: 1, benchTolerances: null, absentCells: null });
});

it("of two who edit at once the second is told, and overwrites nothing", async () => {
  expect((await send({ seen: "1", from: "sheet A", creep: "0.2" })).status).toBe(303);
  const second = await send({ seen: "1", from: "sheet B", creep: "0.3" });
  expect(second.status).toBe(409);
  expect(second.text).toMatch(/Somebody changed this model while the form was open/);
  expect(modelNow()).toMatchObject({ tolerancesFrom: "sheet A", benchTolerances: { creep: 0.2 } });
});

it("an open session keeps the limits that held when it began; the next takes the new ones", async () => {
  const { services } = desk;
  const technician = { kind: "staff", id: cast.technician.id } as const;
  const begin = (serial: string) =>
    benchSessionById(
      services.db,
      done(startBenchSession(services, technician, addUnit(services, serial))).session,
    );
  const before = begin("CU-000901");
  await send({ seen: "1", absent: "1/1", from: "sheet", creep: "0.2" });
  const open = before === null ? null : benchSessionById(services.db, before.id);
  expect(open).toMatchObject({ tolerances: { creep: usualTolerances.creep }, absentCells: null });
  expect(begin("CU-000902")).toMatchObject({
    tolerances: { ...usualTolerances, creep: 0.2 },
    tolerancesFrom: "sheet",
    absentCells: [0],
  });
});

it("a place without a cell counts as masked in the health of every unit of the model", async () => {
  await send({ seen: "1", absent: "1/1, 8/8" });
  const { masked } = assessed(desk.services, things.lentUnit, desk.services.clock.now());
  expect(masked).toEqual({ rows: 8, columns: 8, cells: [0, 63] });
});

it("a place without a cell fails nothing on the bench, takes nothing of the share that may be masked, and a cell beside it still can", () => {
  const shape = { rows: 2, columns: 2, pitchMillimetres: 42, tolerances: usualTolerances };
  const sweep = { cellsTested: 4, cellsFailed: 1, failedCells: [0], failedRows: [], failedColumns: [] };
  const judged = (absent: readonly number[]) =>
    judgeStep("line-sweep", { readings: [], facts: { sweep } }, new Map(), {
      ...shape,
      absent: new Set(absent),
    });
  expect(judged([])?.badCells).toEqual([0]);
  expect(judged([0])?.badCells).toEqual([]);
  expect(judged([0])?.lines.filter(({ decision }) => decision === "fail")).toEqual([]);
  expect(judged([1])?.badCells).toEqual([0]);
  const standing = { ...standingOf(new Map()), masked: [1], notDone: [] };
  const against = (cells: number) =>
    choicesFor(standing, cells, 0.1, { kind: "never-lent" }).find(({ outcome }) => outcome === "pass-masked")
      ?.against;
  expect(against(10)).toEqual([]);
  expect(against(9)).toEqual(["1 cell would be masked; this model allows 0."]);
});

it("cells are read as they are written, whatever the grid", () => {
  const shape = { rows: 6, columns: 10 };
  for (let cell = 0; cell < 60; cell += 1)
    expect(cellsFrom(cellsAsWritten([cell], 10), shape)).toEqual({ kind: "cells", cells: [cell] });
  for (const item of ["0/1", "7/1", "1/11", "1", "1/", "-1/2", "a/b", "1/1/1"])
    expect(cellsFrom(`2/2 ${item}`, shape)).toEqual({ kind: "not-a-cell", item });
});
