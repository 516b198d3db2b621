import { expect, test } from "vitest";
import { explainCase } from "../../scripts/explain/explain-case.ts";
import { at, caseFolder, WrittenUnit, writtenModel } from "./written-case.ts";

/** Cases whose answer anybody in the trade would suspect at once. Common practice, no source. */

const body = (kilograms: number) => ({ loadHectograms: 10 * kilograms });
const away = { loaded: false, loadHectograms: 0 };

function day(unit: WrittenUnit, morning: number, afternoon: number): void {
  unit.minutes(480, { ...away, power: "charging" });
  unit.minutes(180, body(morning)).minutes(30, away).minutes(120, body(morning)).minutes(60, away);
  unit.minutes(180, body(afternoon)).minutes(30, away).minutes(120, body(afternoon)).minutes(240, away);
}

async function questionsOf(units: ReadonlyMap<string, WrittenUnit>) {
  const serials = [...units.keys()];
  const manifest = {
    zone: "Europe/London",
    models: [writtenModel],
    units: serials.map((serial) => ({ serial, model: "M" })),
    people: serials.map((serial) => ({ id: `P-${serial}` })),
    loans: serials.map((serial) => ({
      id: `L-${serial}`,
      unit: serial,
      person: `P-${serial}`,
      startedAt: "2026-10-01T00:00:00Z",
    })),
  };
  const explained = await explainCase(
    caseFolder(
      manifest,
      [...units.values()].flatMap(({ lines }) => lines),
    ),
    null,
  );
  if (explained.kind === "unreadable") throw new Error(JSON.stringify(explained.problems));
  return explained.told.loans.map(({ questions }) =>
    questions.map(({ kind, foundAt }) => [kind, foundAt.slice(0, 10)]),
  );
}

const began = at("2026-10-01T00:00:00Z");
/** @param later the loads in the mornings and in the afternoons from the 16th day on */
function life(serial: string, usual: number, later: readonly [number, number]): [string, WrittenUnit] {
  const unit = new WrittenUnit(serial, 1, began);
  for (let done = 0; done < 15; done++) day(unit, usual, usual);
  for (let done = 0; done < 5; done++) day(unit, ...later);
  return [serial, unit];
}

test("loads that change places between two homes are a swap, though each grid alone seems to weigh otherwise", async () => {
  const told = await questionsOf(new Map([life("CU-1", 64, [45, 45]), life("CU-2", 45, [64, 64])]));
  expect(told.map((questions) => questions.map(([kind]) => kind))).toEqual([["swapped"], ["swapped"]]);
  for (const [[, foundAt] = []] of told) expect(foundAt && foundAt <= "2026-10-18").toBe(true);
});

test("one home's load that is another for good is gain or weight: nobody is asked whose record it is", async () => {
  expect(await questionsOf(new Map([life("CU-1", 64, [45, 45]), life("CU-2", 45, [45, 45])]))).toEqual([
    [],
    [],
  ]);
});

test("a load that is another every afternoon and the usual one every morning is no fault of the grid", async () => {
  const [questions] = await questionsOf(new Map([life("CU-1", 64, [64, 42])]));
  expect(questions?.map(([kind]) => kind)).toEqual(["two-people"]);
});
